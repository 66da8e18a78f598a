// Walks a YAML tree with tables of allowed keys and collects everything that is wrong. Private to
// settings/.
#pragma once

#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <type_traits>
#include <utility>
#include <vector>

#include "settings/load.h"
#include "settings/yaml_tree.h"

namespace ebbwatch {

/// A value and where it stands. `path` counts within its file and is shown to people; `merged`
/// counts over all included files and finds the place again for checks of the whole.
struct Cursor {
  const YamlNode* node = nullptr;
  TextPlace place;
  std::string path, merged;
};

/// What a table says of one key, without its type.
struct KeyInfo {
  std::string name;
  bool required = false;
  std::vector<std::string> inner;  ///< Keys of the mapping that is its value.
};

class Reader {
 public:
  /// Starts another file; what was found so far stays.
  void begin_file(std::string file) { file_ = std::move(file); }
  const std::string& file() const { return file_; }

  void problem(const Cursor& at, std::string found, std::string allowed, std::string hint = "");
  void problem(TextPlace place, const std::string& path, const std::string& merged,
               std::string found, std::string allowed, std::string hint = "");
  /// For findings of checks: looks up the place of a merged path, or of its nearest parent.
  void problem_at(const std::string& merged, std::string found, std::string allowed,
                  std::string hint = "");
  /// Whether something was already said about this merged path.
  bool has_problem(const std::string& merged) const { return troubled_.contains(merged); }
  /// Whether the file says anything at this merged path.
  bool is_given(const std::string& merged) const { return places_.contains(merged); }
  /// "ebbwatch.yaml:12" of a merged path; empty when unknown.
  std::string place_text(const std::string& merged) const;

  /// Calls `visit(i, value)` for each known key, reports unknown, repeated and missing ones. A
  /// misspelt key is read as the one that was meant, so that its value is checked as well.
  /// @return false when the node is not a mapping.
  bool walk_mapping(const Cursor& at, const std::vector<KeyInfo>& keys,
                    const std::function<void(std::size_t, const Cursor&)>& visit);
  /// Calls `visit` for each item. @param first_index where the list goes on in the merged whole.
  bool walk_list(const Cursor& at, std::size_t first_index,
                 const std::function<void(const Cursor&)>& visit);

  std::vector<Problem> take_problems() { return std::move(problems_); }

 private:
  struct Located {
    std::string file;
    TextPlace place;
    std::string path;
  };
  std::optional<std::size_t> meant_key(const Cursor& at, const YamlNode::Entry& entry,
                                       const std::vector<KeyInfo>& keys,
                                       const std::vector<const YamlNode::Entry*>& given);

  std::string file_;
  std::vector<Problem> problems_;
  std::map<std::string, Located> places_;
  std::map<std::string, bool> troubled_;
};

/// `found` for a value of the wrong kind: "a list", "nothing", "\"abc\"".
std::string describe(const YamlNode& node);
/// "a, b, c"
std::string join(const std::vector<std::string>& words, std::string_view between = ", ");
/// "Did you mean x?" for the nearest of `known`, also when only the case differs; else empty.
std::string did_you_mean(std::string_view word, const std::vector<std::string>& known);

/// Reads one value. @return whether `out` may be used.
template <class M>
using ReadValue = std::function<bool(Reader&, const Cursor&, M&)>;

template <class M>
struct IsOptional : std::false_type {};
template <class M>
struct IsOptional<std::optional<M>> : std::true_type {};

/// The table of the keys of one mapping that fills a T.
template <class T>
class Keys {
 public:
  template <class M, class Read>
  Keys& key(std::string name, M T::*member, Read read) {
    return add({std::move(name), false, {}}, member, std::move(read));
  }
  template <class M, class Read>
  Keys& required(std::string name, M T::*member, Read read) {
    return add({std::move(name), true, {}}, member, std::move(read));
  }
  template <class M>
  Keys& mapping(std::string name, M T::*member, const Keys<M>& inner) {
    return add(
        {std::move(name), false, inner.names()}, member,
        [&inner](Reader& reader, const Cursor& at, M& out) { return inner.fill(reader, at, out); });
  }
  template <class M>
  Keys& mapping(std::string name, std::optional<M> T::*member, const Keys<M>& inner) {
    return add(
        {std::move(name), false, inner.names()}, member,
        [&inner](Reader& reader, const Cursor& at, M& out) { return inner.fill(reader, at, out); });
  }
  /// A list of items; appends to what the member already holds.
  template <class M>
  Keys& list(std::string name, bool is_required, std::vector<M> T::*member, ReadValue<M> read) {
    return add({std::move(name), is_required, {}}, member,
               [read = std::move(read)](Reader& reader, const Cursor& at, std::vector<M>& out) {
                 return reader.walk_list(at, out.size(), [&](const Cursor& item) {
                   M value{};
                   (void)read(reader, item, value);  // What was wrong has been noted.
                   out.push_back(std::move(value));
                 });
               });
  }
  template <class M>
  Keys& list(std::string name, bool is_required, std::vector<M> T::*member, const Keys<M>& inner) {
    return list(std::move(name), is_required, member,
                ReadValue<M>([&inner](Reader& reader, const Cursor& at, M& out) {
                  return inner.fill(reader, at, out);
                }));
  }
  /// A key whose reader fills more than one member.
  Keys& custom(KeyInfo info, ReadValue<T> read) {
    infos_.push_back(std::move(info));
    readers_.push_back(std::move(read));
    return *this;
  }

  bool fill(Reader& reader, const Cursor& at, T& out) const {
    return reader.walk_mapping(at, infos_, [&](std::size_t i, const Cursor& value) {
      (void)readers_[i](reader, value, out);  // What was wrong has been noted by the reader.
    });
  }
  std::vector<std::string> names() const {
    std::vector<std::string> all;
    for (const KeyInfo& info : infos_) all.push_back(info.name);
    return all;
  }

 private:
  template <class M, class Read>
  Keys& add(KeyInfo info, M T::*member, Read read) {
    infos_.push_back(std::move(info));
    readers_.push_back([member, read](Reader& reader, const Cursor& at, T& out) {
      if constexpr (IsOptional<M>::value) {
        typename M::value_type value{};
        const bool usable = read(reader, at, value);
        if (usable) out.*member = std::move(value);
        return usable;
      } else {
        return read(reader, at, out.*member);
      }
    });
    return *this;
  }

  std::vector<KeyInfo> infos_;
  std::vector<ReadValue<T>> readers_;
};

}  // namespace ebbwatch
