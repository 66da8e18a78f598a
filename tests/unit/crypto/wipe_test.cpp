#include "crypto/wipe.h"

#include <doctest/doctest.h>
#include <sys/resource.h>

#include <algorithm>
#include <array>

#include "crypto/core_dumps.h"

using namespace ebbwatch;

TEST_CASE("a wiped array holds zeroes only") {
  std::array<unsigned char, 32> secret;
  secret.fill(7);
  wipe(secret);
  CHECK(std::all_of(secret.begin(), secret.end(), [](unsigned char byte) { return byte == 0; }));
}

TEST_CASE("a wiped string is empty, and its place was overwritten to its capacity") {
  std::string secret(200, 'k');
  const std::size_t room = secret.capacity();
  secret.resize(10);  // The rest stays behind its end.
  const char* place = secret.data();
  wipe(secret);
  CHECK(secret.empty());
  CHECK(secret.data() == place);  // It did not move away from what it held.
  CHECK(secret.capacity() == room);
}

TEST_CASE("a scope ends with its secret wiped") {
  std::string secret = "a secret of some length, longer than a small string";
  { const WipedAtEnd after(secret); }
  CHECK(secret.empty());
}

// core(5), Linux man-pages 6.03: a soft limit of 0 prevents the file.
TEST_CASE("no core file is written any more") {
  forbid_core_dumps();
  rlimit now{};
  REQUIRE(getrlimit(RLIMIT_CORE, &now) == 0);
  CHECK(now.rlim_cur == 0);
  CHECK(now.rlim_max == 0);
}
