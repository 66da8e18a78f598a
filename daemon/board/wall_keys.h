// The keys of read-only addresses: for a page on a wall, for calendars and for programs. Only a
// hash of each is kept. Pure.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "ports/wall_addresses.h"

namespace ebbwatch {

class WallKeys {
 public:
  void use(const std::vector<WallAddressRow>& rows);
  bool good(std::string_view key) const;

 private:
  std::map<std::string, std::string, std::less<>> name_by_hash_;
};

/// SHA-256 of a key's text, in hex. A key has 256 bits of chance, so that no salt is needed.
std::string wall_key_hash(std::string_view key);
/// "abc" of "Bearer abc" (RFC 6750 section 2.1); empty when the field is none.
std::string bearer_key(std::string_view authorization);

}  // namespace ebbwatch
