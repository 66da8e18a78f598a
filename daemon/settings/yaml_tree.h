// A YAML file as a plain tree in which every value and every key knows its place. Keeps yaml-cpp,
// its exceptions and its loss of repeated keys out of everything else.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace ebbwatch {

/// A place in a text; line and column count from 1.
struct TextPlace {
  int line = 0, column = 0;
};

/// One value. Children are shared because an alias stands for the same value as its anchor.
struct YamlNode {
  enum class Kind : std::uint8_t { nothing, scalar, list, mapping };
  struct Entry {
    std::string key;
    TextPlace place;  ///< Of the key.
    std::shared_ptr<const YamlNode> value;
  };
  Kind kind = Kind::nothing;
  TextPlace place;
  std::string text;     ///< Of a scalar.
  bool quoted = false;  ///< Written in quotes or as a block: never a number.
  std::vector<std::shared_ptr<const YamlNode>> items;  ///< Of a list.
  std::vector<Entry> entries;  ///< Of a mapping, in the order of the file, repeated keys included.
};

/// Why a text is no usable YAML.
struct YamlFault {
  TextPlace place;
  std::string found, allowed, hint;
};
struct YamlTree {
  std::shared_ptr<const YamlNode> root;  ///< Null when there is a fault.
  std::optional<YamlFault> fault;
};

/// Reads the one document of `yaml`. Never throws; a text that nests too deep is a fault.
YamlTree parse_yaml(std::string_view yaml);

}  // namespace ebbwatch
