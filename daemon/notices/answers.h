// How people answer a notice: by whom and by what an outage was taken on, where the four-digit code
// and the link in a notice come from, and what a text in reply says. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/ids.h"

namespace ebbwatch {

/// By what somebody acknowledged.
enum class AnswerWay : std::uint8_t {
  board,          ///< The page on the wall.
  command_line,   ///< `ebbwatch acknowledge`.
  link,           ///< The link in a notice.
  text,           ///< A text in reply.
  drill,          ///< Within an exercise.
  other_watcher,  ///< With another watcher, which passed it on.
};
const char* word(AnswerWay way);
/// Empty when it is none of them.
std::optional<AnswerWay> answer_way(std::string_view word);

/// An outage was taken on.
struct Acknowledgement {
  std::string by;  ///< A keyholder's identifier where it is one of them, else a name as given.
  AnswerWay way = AnswerWay::command_line;
  std::string notifier{};  ///< By which the notice came that was answered; empty: not known.
};

/// Where a notice's code and link come from. Asked when a notice is made, and again for the same
/// outage and person after a restart: both answers must then still be good. What is given stays
/// good for as long as the outage runs. Called on the loop; must not call the desk.
class Answers {
 public:
  Answers() = default;
  Answers(const Answers&) = delete;
  Answers& operator=(const Answers&) = delete;
  virtual ~Answers() = default;

  /// Exactly four digits, different for each running outage that this keyholder may be told of.
  /// Empty when nothing here can receive texts: the notice then does not ask for one.
  virtual std::string code(OutageId outage, const std::string& keyholder) = 0;
  /// A URL that shows a page on which this keyholder can take this outage on (opening it alone
  /// changes nothing). Empty when there is none.
  /// @param notifier by which way it goes to them: an answer then proves this way.
  virtual std::string link(OutageId outage, const std::string& keyholder,
                           const std::string& notifier) = 0;
};

/// The codes in a text such as "OK 4271", "ok, 4271 9930" or "Ja 4271, bin unterwegs", in their
/// order, each once: a word that means yes in a language of the catalogue (or none at all) and then
/// codes; what follows the codes is the person's own remark. Empty when the text does not begin so:
/// "not ok 4271" and "I am at 4271 Elm Street" acknowledge nothing.
std::vector<std::string> codes_in_reply(std::string_view text);
/// "OK ALL", "ja, alle": everything that the sender was told of and that nobody has.
bool takes_all(std::string_view text);

}  // namespace ebbwatch
