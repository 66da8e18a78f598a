#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "report/availability.h"
#include "report/performance.h"
#include "report/report.h"
#include "text/rfc3339.h"

namespace ebbwatch::report {
namespace {

namespace json = boost::json;

template <class T, class Write>
json::value or_null(const std::optional<T>& value, const Write& write) {
  if (!value) return nullptr;
  return json::value(write(*value));
}

json::value seconds_or_null(const std::optional<Span>& span) {
  return or_null(span, [](Span s) { return s.seconds(); });
}

json::array tanks_json(const Record& record) {
  json::array out;
  const auto times = tank_times(record);
  for (std::size_t i = 0; i < times.size(); ++i) {
    out.push_back(json::object{
        {"id", times[i].tank},
        {"name", record.tanks[i].name},
        {"site", record.tanks[i].site},
        {"availability", or_null(times[i].availability(), [](double share) { return share; })},
        {"watched_s", times[i].watched.seconds()},
        {"lost_s", times[i].lost.seconds()},
        {"unwatched_s", times[i].unwatched.seconds()},
        {"outages", times[i].outages}});
  }
  return out;
}

json::array outages_json(const Record& record) {
  json::array out;
  for (const Outage& outage : record.outages) {
    const auto time = [](WallTime at) { return to_rfc3339(at); };
    json::array notices;
    for (const Notice& notice : outage.notices) {
      notices.push_back(json::object{{"kind", notice.kind},
                                     {"person", notice.person},
                                     {"notifier", notice.notifier},
                                     {"state", notice.state},
                                     {"created_at", to_rfc3339(notice.created_at)},
                                     {"ended_at", or_null(notice.ended_at, time)}});
    }
    out.push_back(json::object{{"outage", outage.id},
                               {"scope", outage.scope},
                               {"subject", outage.subject},
                               {"name", outage.name},
                               {"cause", outage.cause},
                               {"confidence", outage.confidence},
                               {"since", to_rfc3339(outage.since)},
                               {"decided_at", to_rfc3339(outage.decided_at)},
                               {"returned", or_null(outage.returned, time)},
                               {"acknowledged_at", or_null(outage.acknowledged_at, time)},
                               {"acknowledged_by", outage.acknowledged_by},
                               {"notices", std::move(notices)}});
  }
  return out;
}

json::object performance_json(const Record& record) {
  const Performance it = performance_of(record);
  json::array people;
  for (const PersonLoad& load : it.people) {
    people.push_back(json::object{{"person", load.person},
                                  {"messages", load.messages},
                                  {"per_week", load.per_week},
                                  {"most_in_ten_minutes", load.most_in_ten_minutes},
                                  {"floods", load.floods.floods.size()},
                                  {"bins_in_flood", load.floods.bins_in_flood}});
  }
  return {{"alarms", it.alarms},
          {"asked", it.asked},
          {"acknowledged", it.acknowledged},
          {"acknowledged_median_s", seconds_or_null(it.acknowledged_middle)},
          {"acknowledged_longest_s", seconds_or_null(it.acknowledged_longest)},
          {"marked_false", it.marked_false},
          {"brief", it.brief},
          {"standing", it.standing},
          {"unsteady", it.unsteady},
          {"share_of_ten", it.share_of_ten},
          {"loudest", it.loudest},
          {"people", std::move(people)}};
}

json::array drills_json(const Record& record) {
  json::array out;
  for (const Drill& drill : record.drills) {
    json::array silent;
    for (const auto& name : drill.silent) silent.emplace_back(name);
    out.push_back(json::object{{"at", to_rfc3339(drill.at)},
                               {"site", drill.site},
                               {"by", drill.by},
                               {"told", drill.told},
                               {"answered", drill.answered},
                               {"not_answered", std::move(silent)}});
  }
  return out;
}

}  // namespace

std::string json_report(const Record& record) {
  const auto gaps = joined(record.gaps, {record.from, record.until});
  return json::serialize(json::object{{"watcher", record.watcher},
                                      {"title", record.title},
                                      {"from", to_rfc3339(record.from)},
                                      {"until", to_rfc3339(record.until)},
                                      {"gaps", gaps.size()},
                                      {"gaps_s", length(gaps).seconds()},
                                      {"tanks", tanks_json(record)},
                                      {"outages", outages_json(record)},
                                      {"performance", performance_json(record)},
                                      {"drills", drills_json(record)}});
}

}  // namespace ebbwatch::report
