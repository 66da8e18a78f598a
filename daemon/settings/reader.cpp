#include "settings/reader.h"

#include <algorithm>
#include <cctype>

#include "text/identifier.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

std::string lower(std::string_view text) {
  std::string small(text);
  for (char& c : small) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return small;
}

std::optional<std::string> nearest(std::string_view word, const std::vector<std::string>& known) {
  for (const std::string& candidate : known) {
    if (lower(candidate) == lower(word)) return candidate;
  }
  return nearest_word(word, known);
}

std::vector<std::string> names_of(const std::vector<KeyInfo>& keys) {
  std::vector<std::string> names;
  for (const KeyInfo& key : keys) names.push_back(key.name);
  return names;
}

std::string joined_path(const std::string& parent, const std::string& key) {
  return parent.empty() ? key : parent + "." + key;
}

// "on_delay" beside `tanks:` is right, but in the wrong place.
std::string where_it_belongs(const std::string& word, const std::vector<KeyInfo>& keys) {
  for (const KeyInfo& key : keys) {
    if (std::find(key.inner.begin(), key.inner.end(), word) != key.inner.end()) {
      return "It belongs under \"" + key.name + ":\".";
    }
  }
  return "";
}

}  // namespace

std::string describe(const YamlNode& node) {
  constexpr std::size_t shown_max = 60;
  switch (node.kind) {
    case YamlNode::Kind::nothing:
      return "nothing";
    case YamlNode::Kind::list:
      return "a list";
    case YamlNode::Kind::mapping:
      return "a mapping";
    case YamlNode::Kind::scalar:
      break;
  }
  std::string shown;
  for (std::size_t at = 0; at < node.text.size();) {
    const CodePoint point = code_point_at(node.text, at);
    if (shown.size() + point.bytes > shown_max) return "\"" + shown + "…\"";
    if (point.value < 0x20 || point.value == 0x7f) {
      shown += ' ';
    } else {
      shown.append(node.text, at, point.bytes);
    }
    at += point.bytes;
  }
  return "\"" + shown + "\"";
}

std::string join(const std::vector<std::string>& words, std::string_view between) {
  std::string all;
  for (const std::string& word : words) {
    if (!all.empty()) all += between;
    all += word;
  }
  return all;
}

std::string did_you_mean(std::string_view word, const std::vector<std::string>& known) {
  const auto found = nearest(word, known);
  return found ? "Did you mean " + *found + "?" : "";
}

void Reader::problem(const Cursor& at, std::string found, std::string allowed, std::string hint) {
  problem(at.place, at.path, at.merged, std::move(found), std::move(allowed), std::move(hint));
}

void Reader::problem(TextPlace place, const std::string& path, const std::string& merged,
                     std::string found, std::string allowed, std::string hint) {
  troubled_[merged] = true;
  problems_.push_back({file_, place.line, place.column, path, std::move(found), std::move(allowed),
                       std::move(hint)});
}

void Reader::problem_at(const std::string& merged, std::string found, std::string allowed,
                        std::string hint) {
  std::string known = merged;
  while (!known.empty() && !places_.contains(known)) {
    const auto cut = known.find_last_of(".[");
    known = cut == known.npos ? "" : known.substr(0, cut);
  }
  const auto place = places_.find(known);
  Located located{file_, {}, ""};
  if (place != places_.end()) located = place->second;
  std::string rest = merged.substr(known.size());
  if (known.empty() && !rest.empty() && rest.front() == '.') rest.erase(0, 1);
  troubled_[merged] = true;
  problems_.push_back({located.file, located.place.line, located.place.column, located.path + rest,
                       std::move(found), std::move(allowed), std::move(hint)});
}

std::string Reader::place_text(const std::string& merged) const {
  const auto place = places_.find(merged);
  if (place == places_.end()) return "";
  return place->second.file + ":" + std::to_string(place->second.place.line);
}

std::optional<std::size_t> Reader::meant_key(const Cursor& at, const YamlNode::Entry& entry,
                                             const std::vector<KeyInfo>& keys,
                                             const std::vector<const YamlNode::Entry*>& given) {
  const std::vector<std::string> names = names_of(keys);
  const std::string path = joined_path(at.path, entry.key);
  const std::string merged = joined_path(at.merged, entry.key);
  std::string hint = where_it_belongs(entry.key, keys);
  std::optional<std::size_t> meant;
  if (const auto name = nearest(entry.key, names); hint.empty() && name) {
    hint = "Did you mean " + *name + "?";
    meant = static_cast<std::size_t>(std::find(names.begin(), names.end(), *name) - names.begin());
    const auto& all = at.node->entries;
    const bool stands_here_too = std::any_of(
        all.begin(), all.end(), [&](const YamlNode::Entry& other) { return other.key == *name; });
    if (stands_here_too || given[*meant] != nullptr) meant.reset();
  }
  problem(entry.place, path, merged, "unknown key", join(names), hint);
  return meant;
}

bool Reader::walk_mapping(const Cursor& at, const std::vector<KeyInfo>& keys,
                          const std::function<void(std::size_t, const Cursor&)>& visit) {
  if (at.node->kind != YamlNode::Kind::mapping) {
    problem(at, describe(*at.node), "a mapping with the keys " + join(names_of(keys)));
    return false;
  }
  std::vector<const YamlNode::Entry*> given(keys.size(), nullptr);
  for (const YamlNode::Entry& entry : at.node->entries) {
    const auto known = std::find_if(keys.begin(), keys.end(),
                                    [&](const KeyInfo& key) { return key.name == entry.key; });
    std::optional<std::size_t> index;
    if (known == keys.end()) {
      index = meant_key(at, entry, keys, given);
    } else {
      index = static_cast<std::size_t>(known - keys.begin());
    }
    if (!index) continue;
    if (given[*index] != nullptr) {
      problem(entry.place, joined_path(at.path, entry.key), joined_path(at.merged, entry.key),
              "given twice, first on line " + std::to_string(given[*index]->place.line),
              "each key once");
      continue;
    }
    given[*index] = &entry;
    const bool is_empty = entry.value->kind == YamlNode::Kind::nothing;
    const Cursor value{entry.value.get(), is_empty ? entry.place : entry.value->place,
                       joined_path(at.path, keys[*index].name),
                       joined_path(at.merged, keys[*index].name)};
    places_.try_emplace(value.merged, Located{file_, value.place, value.path});
    visit(*index, value);
  }
  for (std::size_t i = 0; i < keys.size(); ++i) {
    if (!keys[i].required || given[i] != nullptr) continue;
    problem(at.place, joined_path(at.path, keys[i].name), joined_path(at.merged, keys[i].name),
            "missing", "this key is needed");
  }
  return true;
}

bool Reader::walk_list(const Cursor& at, std::size_t first_index,
                       const std::function<void(const Cursor&)>& visit) {
  if (at.node->kind != YamlNode::Kind::list) {
    const bool is_mapping = at.node->kind == YamlNode::Kind::mapping;
    problem(at, describe(*at.node), "a list",
            is_mapping ? "Begin each item with \"- \"." : "Write [ ] around the items.");
    return false;
  }
  for (std::size_t i = 0; i < at.node->items.size(); ++i) {
    const YamlNode& item = *at.node->items[i];
    const auto numbered = [](const std::string& path, std::size_t number) {
      return path + "[" + std::to_string(number) + "]";
    };
    const Cursor value{&item, item.place, numbered(at.path, i),
                       numbered(at.merged, first_index + i)};
    places_.try_emplace(value.merged, Located{file_, value.place, value.path});
    visit(value);
  }
  return true;
}

}  // namespace ebbwatch
