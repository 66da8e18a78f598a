#include "store/names.h"

#include <utility>

namespace ebbwatch {

Names::Names(Statement find, Statement add) : find_(std::move(find)), add_(std::move(add)) {}

Result<Names> Names::prepare(Database& database) {
  auto find = database.prepare("SELECT id FROM names WHERE name = ?1");
  if (!find) return find.error();
  auto add = database.prepare("INSERT INTO names(name) VALUES(?1) RETURNING id");
  if (!add) return add.error();
  return Names(std::move(find.value()), std::move(add.value()));
}

Result<std::optional<std::int64_t>> Names::find(const std::string& name) {
  const auto known = known_.find(name);
  if (known != known_.end()) return std::optional<std::int64_t>(known->second);
  const auto row = find_.with(name).next();
  if (!row) return row.error();
  std::optional<std::int64_t> number;
  if (row.value()) find_.into(number);
  find_.reset();
  return number;
}

Result<std::int64_t> Names::number_of(const std::string& name) {
  const auto known = known_.find(name);
  if (known != known_.end()) return known->second;
  for (Statement* statement : {&find_, &add_}) {
    const auto row = statement->with(name).next();
    if (!row) return row.error();
    if (!row.value()) continue;
    std::int64_t number = 0;
    statement->into(number);
    const auto ended = statement->run();
    if (!ended) return ended.error();
    known_.emplace(name, number);
    return number;
  }
  return Error{Errc::storage, "The database gave no number for the name " + name + "."};
}

}  // namespace ebbwatch
