#include "notifiers/gsm_modem/modem_errors.h"

#include <algorithm>
#include <array>
#include <string_view>

namespace ebbwatch {
namespace {

struct Meaning {
  int number;
  std::string_view words;
};

constexpr std::array<Meaning, 36> cms{{{1, "number not in use"},
                                       {8, "barred by the operator"},
                                       {10, "call barred"},
                                       {17, "network failure"},
                                       {21, "refused by the network"},
                                       {22, "network congestion"},
                                       {27, "the destination is out of service"},
                                       {28, "unknown subscriber"},
                                       {29, "service refused"},
                                       {38, "network out of order"},
                                       {41, "temporary network failure"},
                                       {42, "network congestion"},
                                       {47, "no resources"},
                                       {50, "not subscribed to this service"},
                                       {69, "service not available in this network"},
                                       {192, "the message centre is busy"},
                                       {193, "no subscription at the message centre"},
                                       {194, "the message centre has failed"},
                                       {195, "the message centre refuses the number"},
                                       {300, "the modem has failed"},
                                       {301, "the modem's message service is in use"},
                                       {302, "not allowed"},
                                       {303, "not supported by the modem"},
                                       {304, "the modem refuses the PDU"},
                                       {305, "the modem refuses the text mode parameter"},
                                       {310, "no SIM card"},
                                       {311, "the SIM card wants its PIN"},
                                       {313, "the SIM card has failed"},
                                       {314, "the SIM card is busy"},
                                       {316, "the SIM card is locked and wants its PUK"},
                                       {322, "the message memory is full"},
                                       {330, "the number of the message centre is unknown"},
                                       {331, "no network"},
                                       {332, "the network did not answer in time"},
                                       {340, "no acknowledgement expected"},
                                       {500, "no reason given"}}};

constexpr std::array<Meaning, 12> cme{{{0, "the modem has failed"},
                                       {3, "not allowed"},
                                       {4, "not supported by the modem"},
                                       {10, "no SIM card"},
                                       {11, "the SIM card wants its PIN"},
                                       {12, "the SIM card is locked and wants its PUK"},
                                       {13, "the SIM card has failed"},
                                       {14, "the SIM card is busy"},
                                       {15, "the wrong SIM card"},
                                       {16, "the PIN is wrong"},
                                       {30, "no network"},
                                       {32, "only emergency calls"}}};

template <std::size_t n>
std::string error_text(const std::array<Meaning, n>& table, int number) {
  std::string out = "modem error " + std::to_string(number);
  for (const Meaning& meaning : table) {
    if (meaning.number == number) out.append(": ").append(meaning.words);
  }
  return out;
}

}  // namespace

Outcome::Kind cms_error_kind(int number) {
  constexpr std::array for_good{1, 8, 10, 21, 28, 50, 69, 193, 195, 302, 303, 304, 305};
  if (number == 332) return Outcome::Kind::unknown;
  const bool refused = std::find(for_good.begin(), for_good.end(), number) != for_good.end();
  return refused ? Outcome::Kind::rejected_forever : Outcome::Kind::retry_later;
}

std::string cms_error_text(int number) {
  return error_text(cms, number);
}

std::string cme_error_text(int number) {
  return error_text(cme, number);
}

}  // namespace ebbwatch
