#include "settings/yaml_tree.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include <algorithm>
#include <cstdint>
#include <map>
#include <sstream>

#include "text/utf8.h"

namespace ebbwatch {
namespace {

TextPlace place_of(const YAML::Mark& mark) {
  return {mark.line + 1, mark.column + 1};
}

// Builds the tree from the parser's events, because YAML::Node keeps neither the places of keys nor
// whether a scalar was quoted.
class Builder : public YAML::EventHandler {
 public:
  std::shared_ptr<const YamlNode> root;
  std::optional<YamlFault> fault;

  void OnDocumentStart(const YAML::Mark& /*mark*/) override {}
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    finish(make(YamlNode::Kind::nothing, mark), anchor);
  }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    const auto known = anchors_.find(anchor);
    if (known == anchors_.end()) {
      note({place_of(mark), "an alias inside the value that it stands for", "a value", ""});
      return finish(make(YamlNode::Kind::nothing, mark), 0);
    }
    finish(known->second, 0);
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    auto node = make(YamlNode::Kind::scalar, mark);
    node->text = value;
    node->quoted = tag == "!";
    finish(node, anchor);
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& /*tag*/, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value /*style*/) override {
    open_.push_back({make(YamlNode::Kind::list, mark), anchor, {}, {}, false});
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& /*tag*/, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value /*style*/) override {
    open_.push_back({make(YamlNode::Kind::mapping, mark), anchor, {}, {}, false});
  }
  void OnMapEnd() override { close(); }

 private:
  struct Open {
    std::shared_ptr<YamlNode> node;
    YAML::anchor_t anchor;
    std::string key;
    TextPlace key_place;
    bool has_key;
  };

  static std::shared_ptr<YamlNode> make(YamlNode::Kind kind, const YAML::Mark& mark) {
    auto node = std::make_shared<YamlNode>();
    node->kind = kind;
    node->place = place_of(mark);
    return node;
  }
  void note(YamlFault found) {
    if (!fault) fault = std::move(found);
  }
  void close() {
    const Open done = open_.back();
    open_.pop_back();
    finish(done.node, done.anchor);
  }
  void finish(const std::shared_ptr<const YamlNode>& node, YAML::anchor_t anchor) {
    if (anchor != 0) anchors_[anchor] = node;
    if (open_.empty()) {
      root = node;
    } else if (open_.back().node->kind == YamlNode::Kind::list) {
      open_.back().node->items.push_back(node);
    } else if (!open_.back().has_key) {
      take_key(*node);
    } else {
      add_entry(node);
    }
  }
  void take_key(const YamlNode& key) {
    Open& mapping = open_.back();
    if (key.kind != YamlNode::Kind::scalar) {
      note({key.place, "a key that is not plain text", "a word before the colon", ""});
    }
    mapping.key = key.text;
    mapping.key_place = key.place;
    mapping.has_key = true;
  }
  void add_entry(const std::shared_ptr<const YamlNode>& value) {
    Open& mapping = open_.back();
    mapping.node->entries.push_back({mapping.key, mapping.key_place, value});
    mapping.has_key = false;
  }

  std::vector<Open> open_;
  std::map<YAML::anchor_t, std::shared_ptr<const YamlNode>> anchors_;
};

std::string_view line_of(std::string_view text, int line) {
  for (int i = 1; i < line; ++i) {
    const auto end = text.find('\n');
    if (end == text.npos) return {};
    text.remove_prefix(end + 1);
  }
  return text.substr(0, text.find('\n'));
}

YamlFault syntax_fault(const YAML::Exception& error, std::string_view yaml) {
  YamlFault fault{place_of(error.mark), error.msg, "YAML", ""};
  const std::string_view line = line_of(yaml, fault.place.line);
  const auto text = line.find_first_not_of(" \t");
  if (line.substr(0, text).find('\t') != line.npos) {
    fault.hint = "Indent with spaces; YAML does not take tabs.";
  } else if (std::count(line.begin(), line.end(), '"') % 2 == 1) {
    fault.hint = "Is a closing quote missing?";
  } else {
    fault.hint = "Look at the indentation, colons, quotes and brackets here and on the line above.";
  }
  return fault;
}

std::optional<YamlFault> encoding_fault(std::string_view yaml) {
  TextPlace place{1, 1};
  for (std::size_t at = 0; at < yaml.size();) {
    const CodePoint point = code_point_at(yaml, at);
    if (!point.valid || point.value == 0) {
      return YamlFault{place, "a byte that is not text", "UTF-8", "Save the file as UTF-8."};
    }
    at += point.bytes;
    place = point.value == '\n' ? TextPlace{place.line + 1, 1}
                                : TextPlace{place.line, place.column + 1};
  }
  return std::nullopt;
}

YamlTree parse(std::string_view yaml) {
  std::istringstream in{std::string(yaml)};
  Builder builder;
  YAML::Parser parser(in);
  if (!parser.HandleNextDocument(builder)) builder.root = std::make_shared<YamlNode>();
  if (builder.fault) return {nullptr, builder.fault};
  Builder second;
  if (parser.HandleNextDocument(second)) {
    const TextPlace place = second.root ? second.root->place : TextPlace{};
    return {nullptr, YamlFault{place, "a second document", "one document in a file",
                               "Remove the line \"---\", or make a file of its own."}};
  }
  return {builder.root, std::nullopt};
}

}  // namespace

YamlTree parse_yaml(std::string_view yaml) {
  if (auto fault = encoding_fault(yaml)) return {nullptr, fault};
  try {
    return parse(yaml);
  } catch (const YAML::Exception& error) {
    return {nullptr, syntax_fault(error, yaml)};
  }
}

}  // namespace ebbwatch
