// Check-ins by datagram (ingest/datagram.h, datagram_desk.h; FORMATS: check-in, UDP). Each line is
// one datagram; $MAC at its end stands for the right mac. All go to one desk, one second apart.
#include "ingest/datagram.h"

#include <algorithm>

#include "core/limits.h"
#include "fuzz.h"
#include "ingest/datagram_desk.h"
#include "text/identifier.h"
#include "unit/ingest/fakes.h"

using namespace ebbwatch;
using namespace ebbwatch::test;

namespace {

std::string mac_of(std::string_view covered) {
  const Sha256 mac = hmac_sha256(key_of(1).text, covered);
  return to_hex(std::span(mac).first(16));
}

std::string with_mac(std::string_view line) {
  std::string text(line);
  if (!text.ends_with(" $MAC")) return text;
  text.resize(text.size() - 5);
  return text + " " + mac_of(text);
}

/// Without pairs there is nothing between two blanks, or a "-" for those who cannot leave it out.
std::string text_of(const Datagram& it, std::string_view no_pairs) {
  const auto or_dash = [](std::string_view text) { return text.empty() ? "-" : std::string(text); };
  return "EBB1 " + std::string(it.controller) + " " + std::to_string(it.seq) + " " +
         (it.sent_at ? std::to_string(it.sent_at->us / 1000) : "-") + " " + or_dash(it.echo) + " " +
         std::string(it.pairs.empty() ? no_pairs : it.pairs);
}

void look_at(std::string_view bytes, const MacState& key) {
  const auto read = parse_datagram(bytes);
  if (!read) return;
  MUST(bytes.size() <= limits::datagram_bytes_max && is_identifier(read->controller));
  MUST(text_of(*read, "-") == read->covered || text_of(*read, "") == read->covered);
  std::string mac(bytes.substr(bytes.size() - 32));
  std::transform(mac.begin(), mac.end(), mac.begin(),
                 [](char c) { return c >= 'A' && c <= 'F' ? static_cast<char>(c + 32) : c; });
  MUST(read->is_made_with(key) == (mac == mac_of(read->covered)));
  const auto fields = check_in_of(*read);
  if (!fields) MUST(fuzz::is_sentence(fields.error().text));
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const MacState key = MacState::of(key_of(1).text);
  fuzz::Input in(data, size);
  FakeClock clock;
  CountingEntropy entropy;
  Admission admission(entropy);
  admission.replace_keys(two_keys());
  RememberingSink sink;
  DatagramDesk desk(admission, sink, entropy);
  const auto from = boost::asio::ip::make_address("192.0.2.7");
  std::string echo = "none";
  while (!in.empty()) {
    const std::string bytes = with_mac(fuzz::replaced(std::string(in.line()), "$ECHO", echo));
    look_at(bytes, key);
    const auto taken = sink.taken.size();
    const std::string answer = desk.take(bytes, from, clock.now(), clock.wall_now());
    MUST(answer.size() <= bytes.size());  // Nobody's traffic is made larger.
    if (answer.starts_with("EBB1 ok ")) echo = answer.substr(8, answer.rfind(' ') - 8);
    if (sink.taken.size() != taken) {
      const auto read = parse_datagram(bytes);
      MUST(read && sink.taken.back().credential.controller == read->controller);
      MUST(read->controller != "lagoon-main" || read->is_made_with(key));
      MUST(desk.take(bytes, from, clock.now(), clock.wall_now()).empty() ||
           !read->sent_at);                  // A replay is not answered…
      MUST(sink.taken.size() == taken + 1);  // … and never contact.
    }
    clock.pass(Span::of_s(1));
  }
  MUST(sink.log.find(key_of(1).text) == std::string::npos);
  return 0;
}
