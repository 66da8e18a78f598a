// Who is told what: the rules that turn decisions, answers and acknowledgements into acts on the
// desk's book. Each function is one rule; notice_desk.cpp calls them.
#pragma once

#include <string>
#include <vector>

#include "core/decision.h"
#include "notices/desk_book.h"

namespace ebbwatch {

/// A revision is told when the cause changes with at least this confidence, or the scope widens.
inline constexpr double revision_confidence_min = 0.8;

/// Starts the call lists of a loss. A second loss of the same outage changes nothing.
void tell_loss(DeskBook& book, Turn& turn, OutageId outage, const Story& story,
               const std::vector<std::string>& lists);

/// Tells a revision to those who know of the loss; corrects what has not been sent yet; starts the
/// lists that a wider scope brings in. `as_loss` is the same facts told as a loss, for those who
/// had not been told. Nothing is told when neither scope nor cause changed enough.
void tell_revision(DeskBook& book, Turn& turn, OutageId outage, const Story& story,
                   const Story& as_loss, const std::vector<std::string>& lists);

/// Ends the outage. Whoever got the loss gets the recovery by the way that brought it; whoever was
/// still waiting for it gets one combined notice; nobody else gets anything. An attempt in flight
/// is waited for: its answer decides (settle()).
void tell_recovery(DeskBook& book, Turn& turn, OutageId outage, Story story);

/// When the lists' daily digest goes next, the earliest of them.
WallTime digest_time(const Settings& settings, const std::vector<std::string>& lists, WallTime now);
/// A notice of low priority, into the daily digest of the first persons of the lists: by mail where
/// they have it. `blueprint` without keyholder and ways. @param not_by a notifier that cannot tell.
void tell_low(DeskBook& book, Turn& turn, Blueprint blueprint,
              const std::vector<std::string>& lists, const std::string& not_by = {});
/// Names a standing alarm in the digest again, every day. Nothing when it is not due.
void name_standing(DeskBook& book, Turn& turn, OutageId outage);

/// The same for a decision. What is unsteady becomes a standing alarm.
void tell_once(DeskBook& book, Turn& turn, OutageId outage, const Story& story,
               const std::vector<std::string>& lists);
/// The end of a standing alarm, in the digest of those who were told of it.
/// When that was before a restart, in the digest of the first persons of the lists.
void tell_steady(DeskBook& book, Turn& turn, OutageId outage, const Story& story,
                 const std::vector<std::string>& lists);

/// Takes every turn of the outage's call list that is due.
void take_turns(DeskBook& book, Turn& turn, OutageId outage);
/// Sets the next way of this notice going, if it may.
void fail_over(DeskBook& book, Turn& turn, const std::string& notice);
/// After an attempt: fail over, call off what is not needed any more, settle what was held for it.
void after_attempt(DeskBook& book, Turn& turn, const std::string& notice);
/// Somebody has taken the outage on: the list stops, what has not been delivered is called off, and
/// everybody else who was told, or still may be by an attempt under way, hears who has it. When the
/// same person says so again it only counts anew.
void acknowledge(DeskBook& book, Turn& turn, OutageId outage, const Acknowledgement& given);

/// What the outage is about was put away: the list stops without an end of its own, and what has
/// not been delivered is called off. A loss told late (tell_late) begins it again.
void put_away(DeskBook& book, Turn& turn, OutageId outage);
/// A loss that was held, or whose calls had stopped, is still there.
void tell_late(DeskBook& book, Turn& turn, OutageId outage, const Story& story,
               const std::vector<std::string>& lists);

/// A loss that `dead` was to tell will not arrive: those who were reached hear that this person was
/// not, unless somebody has taken the outage on.
void tell_undelivered(DeskBook& book, Turn& turn, const Notice& dead);

/// An exercise: to every one of the calls by every usable way, once and without the call list.
void tell_drill(DeskBook& book, Turn& turn, OutageId number, const Story& story,
                const std::vector<Call>& calls);
/// It is over: what has not been delivered is called off.
void end_drill(DeskBook& book, Turn& turn, OutageId number);
/// Something has happened: what has not been delivered of any exercise is called off. Answers are
/// still waited for.
void put_off_drills(DeskBook& book, Turn& turn);

/// A store that fails for shorter than this is told to nobody: it was only busy.
inline constexpr Span store_failing_after = Span::of_min(1);

/// The watcher cannot store: to the first persons of its own call list, or of all lists when it has
/// none.
void tell_store_failing(DeskBook& book, Turn& turn, WallTime since, const std::string& reason);
/// It can again: to those whom that reached.
void tell_store_working(DeskBook& book, Turn& turn);
/// A notifier has not delivered for a while, or does so again: in the digest of those who answer
/// for the watcher, by any other way.
void tell_notifier(DeskBook& book, Turn& turn, const std::string& notifier, bool failing,
                   WallTime since, const std::string& reason);
/// A way to somebody was not proven for longer than its list asks: in the digest of the list.
void tell_unproven(DeskBook& book, Turn& turn, const std::string& keyholder,
                   const std::string& notifier, std::optional<WallTime> proven_at,
                   const std::vector<std::string>& lists);

/// For a notice that ended: releases or withdraws the notices that were held for it.
void settle(DeskBook& book, Turn& turn, const std::string& ended);

/// The beginning of what is told of the watcher itself, by its name.
Story own_story(const DeskBook& book, Topic topic, WallTime since, WallTime now);
/// The watcher's own list; all lists when it has none.
std::vector<std::string> own_lists(const Settings& settings);
/// Call lists that cover a subject: its site's, or those of all `sites` of a wider one, each once.
std::vector<std::string> lists_of(const Settings& settings, const WatchPlan& plan, Subject subject,
                                  const std::vector<SiteIndex>& sites);

}  // namespace ebbwatch
