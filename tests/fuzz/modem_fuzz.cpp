// What a GSM modem says (notifiers/gsm_modem; 3GPP TS 27.005, 27.007). Each line of the input is
// said by the modem, CR LF behind it; but `~N` lets N seconds pass, `=TEXT` sends a text, `!` loses
// the device and opens it again, `-` forgets the newest text, `>` asks for a body, and `#` hands
// incoming texts on. The first line is the mode: a for automatic, p for PDU, t for text.
#include <algorithm>
#include <charconv>
#include <map>
#include <set>

#include "fuzz.h"
#include "notifiers/gsm_modem/modem_dialogue.h"

using namespace ebbwatch;

namespace {

ModemSetup setup_of(std::string_view mode) {
  ModemSetup out;
  out.pin = "4711";
  if (mode == "p") out.mode = ModemSetup::Mode::pdu;
  if (mode == "t") out.mode = ModemSetup::Mode::text;
  return out;
}

class Bench {
 public:
  explicit Bench(std::string_view mode) : dialogue_(setup_of(mode)) { dialogue_.opened(now_); }

  void step(std::string_view line) {
    if (line.starts_with('~')) {
      pass(line.substr(1));
    } else if (line.starts_with('=')) {
      send(std::string(line.substr(1)));
    } else if (line == "!") {
      dialogue_.closed("unplugged", now_);
      dialogue_.opened(now_);
    } else if (line == "-") {
      forgotten_.insert(sent_);
      dialogue_.forget(sent_, now_);
    } else if (line == ">") {
      dialogue_.received("\r\n> ", now_);
    } else if (line == "#") {
      hand_on();
    } else {
      dialogue_.received(std::string(line) + "\r\n", now_);
    }
    look();
  }

  /// Whatever the modem does or leaves undone: each text has ended once by its time.
  void end() {
    pass("99999");
    dialogue_.closed("unplugged", now_);
    look();
    for (std::uint64_t id = 1; id <= sent_; ++id) {
      MUST(ended_.contains(id) || forgotten_.contains(id));
    }
  }

 private:
  void pass(std::string_view seconds) {
    std::int64_t s = 0;
    (void)std::from_chars(seconds.data(), seconds.data() + seconds.size(), s);
    const Instant until = now_ + Span::of_s(std::clamp<std::int64_t>(s, 0, 100'000));
    for (int turns = 0; dialogue_.deadline() <= until && !dialogue_.wants_reopen(); ++turns) {
      MUST(turns < 200'000);
      now_ = std::max(now_, dialogue_.deadline());
      dialogue_.elapsed(now_);
      MUST(dialogue_.deadline() > now_ || dialogue_.wants_reopen());  // It never spins.
      look();
    }
    now_ = until;
    dialogue_.elapsed(now_);
  }
  void send(std::string text) {
    ++sent_;
    std::replace(text.begin(), text.end(), '"', 'a');  // So that no text looks like the command.
    dialogue_.send({sent_, "+15550100", std::move(text), 7, now_ + Span::of_s(120)}, now_);
  }
  void hand_on() {
    for (const int index : incoming_) dialogue_.taken(index, now_);
    incoming_.clear();
  }
  /// Nothing goes out but commands and texts in letters of the wire, and the PIN once in a life.
  void look() {
    const std::string out = dialogue_.take_output();
    for (const char c : out) {
      MUST((c >= ' ' && c <= '~') || c == '\r' || c == '\n' || c == 0x1A || c == 0x1B);
    }
    const std::string_view said = "CPIN=\"4711\"";
    for (auto at = out.find(said); at != out.npos; at = out.find(said, at + 1)) {
      MUST(++pins_ == 1);
    }
    for (const auto& ended : dialogue_.take_ended()) {
      MUST(ended.job >= 1 && ended.job <= sent_ && ++ended_[ended.job] == 1);
      MUST(ended.outcome.answer.size() < 2000);
    }
    for (const auto& text : dialogue_.take_incoming()) {
      MUST(text.index >= 0);
      incoming_.push_back(text.index);
    }
    MUST(is_utf8(dialogue_.state().text));
  }

  ModemDialogue dialogue_;
  Instant now_ = Instant::of_seconds(1000);
  std::uint64_t sent_ = 0;
  int pins_ = 0;
  std::map<std::uint64_t, int> ended_;
  std::set<std::uint64_t> forgotten_;
  std::vector<int> incoming_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::Input in(data, size);
  Bench bench(in.line());
  for (int steps = 0; !in.empty() && steps < 400; ++steps) bench.step(in.line());
  bench.end();
  return 0;
}
