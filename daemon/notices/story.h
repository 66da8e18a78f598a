// What a notice tells: one decision with names, words and wall times in place of positions, so that
// it can still be told hours later, after a restart, or with another plan. Plain data; made by
// make_story(), kept as JSON beside the notice (story_json.h), turned into texts by compose().
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "core/decision.h"
#include "core/reading_judge.h"
#include "core/site_plan.h"
#include "core/time.h"
#include "core/wording.h"
#include "settings/settings.h"
#include "words/language.h"

namespace ebbwatch {

/// What a notice is about.
enum class Topic : std::uint8_t {
  decision,          ///< A decision of the core; `kind` says which.
  taken_on,          ///< Somebody has taken the outage on; `taken_by` says who.
  undelivered,       ///< A notice about the outage could not be delivered to somebody else.
  store_failing,     ///< The watcher cannot store what it decides; `remark` says why.
  store_working,     ///< It can again.
  notifier_failing,  ///< A notifier does not deliver; `name` says which, `remark` why.
  notifier_working,  ///< It does again.
  unproven,  ///< A way to somebody was not proven for too long; `remark` says whose and since when.
  summary,   ///< Many notices in one; `news` has them.
  digest,    ///< What needed nobody at once, told once a day; `news` has it.
};
const char* word(Topic topic);

/// What a story tells in a language other than English.
struct Translation {
  Language language = Language::english;
  std::vector<std::string> evidence;
  std::string last_reading, time_left;
};

/// Who is told how soon.
enum class Priority : std::uint8_t {
  high,    ///< A tank or more is out of contact, or the watcher cannot do its work.
  medium,  ///< Some controllers of a tank that is still heard.
  low,     ///< Wakes nobody: it goes into the daily digest.
};
const char* word(Priority priority);

/// What a summary or digest says of one notice.
struct NewsLine {
  enum class Kind : std::uint8_t { lost, back, other };
  Kind kind = Kind::other;
  std::string text;  ///< One sentence without its full stop.
  std::string link;  ///< Where it can be taken on; empty: nowhere, or nothing to take on.
};

/// What is told of a reading instead of contact: `loss` is its alarm then, `recovery` its end.
struct ReadingNews {
  std::string name;                         ///< "temperature_c", "watts.return-pump"
  std::string controller;                   ///< Identifier of the one that sends it.
  ReadingState state = ReadingState::high;  ///< What is wrong; of a recovery what was.
  std::optional<double> value;              ///< ReadingChange::value
  double bound = 0;                         ///< ReadingChange::bound
};

struct Story {
  Topic topic = Topic::decision;
  DecisionKind kind = DecisionKind::loss;
  bool drill = false;
  std::string watcher;
  std::string outage;  ///< "harbour-17"; empty when the decision belongs to none.
  Scope scope = Scope::tank;
  std::string subject_id;
  std::string name;   ///< "Lagoon reef"
  std::string place;  ///< What the subject stands in: "Elm Street"; empty for sites and wider.
  std::vector<std::string> covered;  ///< Names of the sites of an area or provider, else empty.
  WallTime at;                       ///< When it was decided.
  WallTime since;  ///< When contact ended; of a recovery and of `steady`: when it returned.
  std::optional<WallTime> lost_at;  ///< Of a recovery: when contact had ended, if known.
  std::optional<Span> gone_for;     ///< Of a recovery or a watch gap: how long.
  Cause cause = Cause::undetermined;
  double confidence = 0;
  std::vector<std::string> evidence;  ///< Sentences, weightiest first; in English.
  std::string last_reading;           ///< "water 25.4 °C, pH 8.1"; empty when none came.
  std::string last_reading_from;      ///< Whose it is: "lagoon-main".
  std::optional<WallTime> last_reading_at;
  std::string time_left;  ///< Of a loss: DecisionContext::time_left; may be empty.
  /// The evidence, the reading and the time left for those keyholders who read another language.
  std::vector<Translation> translations;
  std::optional<ReadingNews> reading;  ///< Empty: it is about contact.
  std::string instructions;            ///< What to check first, in the owner's words; may be empty.
  std::string decision_json;           ///< FORMATS section 5 with `at`.
  std::string taken_by;  ///< Who has taken it on, or had when it ran out; empty: nobody yet.
  std::optional<WallTime> taken_at, taken_until;
  std::vector<NewsLine> news;           ///< Of `summary` and `digest`.
  std::string remark;                   ///< Of `undelivered`: the answer. Of `store_failing`: why.
  std::string unreached, unreached_by;  ///< Of `undelivered`: who, and by which notifier. Empty in
                                        ///< rows of earlier versions, where `remark` says it all.
};

/// Evidence, reading and time left in a language; in English where they were not translated.
Translation told_in(const Story& story, Language language);

Priority priority_of(const Story& story);
/// How the history and events call a decision about a reading: "reading_alarm", "reading_normal".
const char* reading_word(DecisionKind kind);
/// Whether it stands for other notices.
constexpr bool is_bundle(Topic topic) {
  return topic == Topic::summary || topic == Topic::digest;
}

/// The newest check-in of one controller, for "the last reading".
struct LastHeard {
  std::string controller;  ///< Identifier.
  WallTime at;
  std::string readings_json;  ///< As in CheckInRow; empty when none came.
};

/// What the caller knows about a decision besides the decision itself.
struct DecisionContext {
  WallTime at;         ///< decision.at on the wall clock.
  WallTime since;      ///< decision.since on the wall clock.
  TimeText time_text;  ///< For the evidence; when empty, times are left as seconds.
  /// For the evidence in other languages; when empty, instants are taken as wall times.
  std::function<WallTime(Instant)> to_wall;
  std::vector<LastHeard> last_heard;  ///< Of the subject's controllers, in any order; may be empty.
  std::optional<Span> gone_for;       ///< Of a recovery or a watch gap, when known.
  bool drill = false;                 ///< An exercise: every text says so, the event type too.
  std::string outage;  ///< How the outage is called, if not by this watcher's own number.
  /// How long the subject's tanks have, counted from `since`, if the power is out: one line; empty
  /// where nothing can be said. Null: nothing is.
  std::function<std::string(Language)> time_left;
};

/// @pre the decision's subject is valid for `plan`, which was made from `settings`.
Story make_story(const Decision& decision, const Settings& settings, const WatchPlan& plan,
                 const DecisionContext& context);

/// "water 25.4 °C, room 21 °C, pH 8.1, heater 150 W" from the `readings` object of a check-in. At
/// most 8 values, those with a known name first; values that are not numbers are left out. Empty
/// when there is none or the text is not such an object.
std::string readings_text(const std::string& readings_json, Language language = Language::english);
/// One of them: "water 29.1 °C", "return-pump 62 W".
std::string reading_text(const std::string& name, double value, Language language);
/// A value of such a reading with its unit alone: "28 °C".
std::string reading_value(const std::string& name, double value, Language language);

}  // namespace ebbwatch
