#include "board/wall_keys.h"

#include "crypto/digest.h"

namespace ebbwatch {

void WallKeys::use(const std::vector<WallAddressRow>& rows) {
  name_by_hash_.clear();
  for (const auto& row : rows) name_by_hash_[row.key_hash] = row.name;
}

bool WallKeys::good(std::string_view key) const {
  return !key.empty() && name_by_hash_.count(wall_key_hash(key)) != 0;
}

std::string wall_key_hash(std::string_view key) {
  return to_hex(sha256(key));
}

std::string bearer_key(std::string_view authorization) {
  constexpr std::string_view scheme = "bearer ";
  if (authorization.size() <= scheme.size()) return {};
  for (std::size_t i = 0; i < scheme.size(); ++i) {
    const char c = authorization[i];
    if ((c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c) != scheme[i]) return {};
  }
  return std::string(authorization.substr(scheme.size()));
}

}  // namespace ebbwatch
