#include "app/shelf_book.h"

#include <algorithm>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "core/limits.h"
#include "text/duration.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

bool is_same(const ShelfRow& row, const std::string& scope, const std::string& subject,
             const std::string& kind) {
  return row.scope == scope && row.subject == subject && row.kind == kind;
}

template <class Items>
void look_in(const Items& items, Scope scope, std::string_view id, std::vector<Subject>& found) {
  for (std::uint32_t i = 0; i < items.size(); ++i) {
    if (items[i].id == id) found.push_back({scope, i});
  }
}

Error needed(const std::string& what) {
  return {Errc::bad_input, what};
}

}  // namespace

Result<Subject> find_subject(const WatchPlan& plan, const std::string& text) {
  const auto slash = text.find('/');
  const std::string kind = slash == std::string::npos ? "" : text.substr(0, slash);
  const std::string id = slash == std::string::npos ? text : text.substr(slash + 1);
  std::vector<Subject> found;
  if (kind.empty() || kind == word(Scope::controller)) {
    look_in(plan.controllers, Scope::controller, id, found);
  }
  if (kind.empty() || kind == word(Scope::tank)) look_in(plan.tanks, Scope::tank, id, found);
  if (kind.empty() || kind == word(Scope::site)) look_in(plan.sites, Scope::site, id, found);
  if (found.empty()) {
    return Error{Errc::not_found, "No controller, tank or site is called '" + text +
                                      "'. 'ebbwatch status' lists them."};
  }
  if (found.size() > 1) {
    return Error{Errc::bad_input, "'" + text + "' is a " + word(found[0].scope) + " and a " +
                                      word(found[1].scope) +
                                      "; say which: " + word(found[1].scope) + "/" + id + "."};
  }
  return found[0];
}

void ShelfBook::restore(const std::vector<ShelfRow>& rows, const WatchPlan& plan) {
  for (const auto& row : rows) {
    if (find_subject(plan, row.scope + "/" + row.subject)) put(row);
  }
}

Result<ShelfRow> ShelfBook::check(const ShelfWish& wish, const WatchPlan& plan,
                                  WallTime now) const {
  const auto subject = find_subject(plan, wish.subject);
  if (!subject) return subject.error();
  if (wish.reason.empty()) return needed("Say why: --reason \"water change\".");
  if (wish.by.empty()) return needed("Say who does it: --by NAME.");
  if (wish.kind == Shelf::Kind::shelved) {
    if (!wish.until) return needed("Say for how long: --for 2h. A shelf always has an end.");
    if (*wish.until <= now) return needed("The end must be in the future.");
    if (*wish.until - now > limits::shelf_time_max) {
      return needed("At most " + duration_text(limits::shelf_time_max) +
                    ". For longer, take it out of service: 'ebbwatch out-of-service'.");
    }
  }
  ShelfRow row;
  row.scope = word(subject.value().scope);
  row.subject = subject_id(plan, subject.value());
  row.kind = word(wish.kind);
  row.since = now;
  if (wish.kind == Shelf::Kind::shelved) row.until = wish.until;
  row.reason = wish.reason;
  row.by = wish.by;
  return row;
}

void ShelfBook::put(const ShelfRow& row) {
  (void)take(row.scope, row.subject, row.kind);
  rows_.push_back(row);
}

std::optional<ShelfRow> ShelfBook::take(const std::string& scope, const std::string& subject,
                                        const std::string& kind) {
  const auto found = std::find_if(rows_.begin(), rows_.end(), [&](const ShelfRow& row) {
    return is_same(row, scope, subject, kind);
  });
  if (found == rows_.end()) return std::nullopt;
  ShelfRow row = *found;
  rows_.erase(found);
  row.ended = true;
  return row;
}

std::vector<ShelfRow> ShelfBook::take_ended(const std::vector<Shelf>& shelves,
                                            const WatchPlan& plan) {
  std::vector<ShelfRow> ended;
  const auto is_there = [&](const ShelfRow& row) {
    return std::any_of(shelves.begin(), shelves.end(), [&](const Shelf& shelf) {
      return is_same(row, word(shelf.subject.scope), subject_id(plan, shelf.subject),
                     word(shelf.kind));
    });
  };
  for (const auto& row : std::vector<ShelfRow>(rows_)) {
    if (!is_there(row)) ended.push_back(*take(row.scope, row.subject, row.kind));
  }
  return ended;
}

DecisionRow act_row(const ShelfRow& row, const char* act, const std::string& by, WallTime at) {
  boost::json::object json;
  json["at"] = to_rfc3339(at);
  json["decision"] = act;
  json["scope"] = row.scope;
  json["subject"] = row.subject;
  if (row.until) json["until"] = to_rfc3339(*row.until);
  json["reason"] = row.reason;
  json["by"] = by;
  DecisionRow out;
  out.at = at;
  out.kind = act;
  out.scope = row.scope;
  out.subject = row.subject;
  out.json = boost::json::serialize(json);
  return out;
}

}  // namespace ebbwatch
