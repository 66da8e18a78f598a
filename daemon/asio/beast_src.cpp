// The compiled half of Boost.Beast (BOOST_BEAST_SEPARATE_COMPILATION).
#include <boost/beast/src.hpp>
