// Which connections are open, and who must make room for a new one. Pure.
//
// When the table, or one sender's share of it, is full, the connection that has been quiet for the
// longest makes room: a kept-alive connection can be made again, but a check-in that is turned away
// is missed. Only when all are busy is the new one refused.
#pragma once

#include <cstddef>
#include <cstdint>
#include <list>
#include <optional>
#include <string>
#include <unordered_map>

namespace ebbwatch {

class ConnectionTable {
 public:
  using Id = std::uint64_t;

  ConnectionTable(std::size_t most, std::size_t most_per_group)
      : most_(most), most_per_group_(most_per_group) {}

  struct Place {
    bool admitted = false;
    std::optional<Id> make_room;  ///< A quiet connection to remove first.
  };
  /// Whether one more of this group (address_group) may come.
  Place place_for(const std::string& group) const;

  /// A new connection is quiet at first. @pre place_for() admitted it.
  void add(Id id, const std::string& group);
  void quiet(Id id);
  void busy(Id id);
  /// No effect when it is gone already.
  void remove(Id id);

  std::size_t size() const { return open_.size(); }
  /// Oldest first.
  const std::list<Id>& quiet_ones() const { return quiet_; }

 private:
  struct Entry {
    std::string group;
    std::optional<std::list<Id>::iterator> quiet_place;
  };
  std::size_t most_, most_per_group_;
  std::unordered_map<Id, Entry> open_;
  std::unordered_map<std::string, std::size_t> per_group_;
  std::list<Id> quiet_;
};

}  // namespace ebbwatch
