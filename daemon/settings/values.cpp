#include "settings/values.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <system_error>

#include "core/limits.h"
#include "text/duration.h"
#include "text/identifier.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

bool is_text(const Cursor& at) {
  return at.node->kind == YamlNode::Kind::scalar && !at.node->text.empty();
}

bool has_control(const std::string& text, bool line_ends_allowed) {
  return std::any_of(text.begin(), text.end(), [&](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte == 0x7f || (byte < 0x20 && !(line_ends_allowed && (c == '\n' || c == '\t')));
  });
}

std::size_t characters(const std::string& text) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < text.size(); at += code_point_at(text, at).bytes) ++count;
  return count;
}

std::optional<double> decimal_number(const YamlNode& node) {
  if (node.kind != YamlNode::Kind::scalar || node.quoted) return std::nullopt;
  double value = 0;
  const char* end = node.text.data() + node.text.size();
  const auto read = std::from_chars(node.text.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::string number_text(double value) {
  char digits[32];
  const auto end = std::to_chars(digits, digits + sizeof digits, value, std::chars_format::fixed);
  return {digits, end.ptr};
}

std::string identifier_hint(const std::string& text) {
  std::string repaired;
  for (char c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == ' ' || c == '_' || c == '.') c = '-';
    repaired += c;
  }
  return is_identifier(repaired) ? "Write " + repaired + "; how people see it goes under name."
                                 : "";
}

constexpr const char* secret_forms = "{file: PATH}, {credential: NAME} or {env: NAME}";

}  // namespace

bool free_text(Reader& reader, const Cursor& at, std::string& out) {
  if (is_text(at) && !has_control(at.node->text, true)) return out = at.node->text, true;
  reader.problem(at, describe(*at.node), "text");
  return false;
}

bool line_text(Reader& reader, const Cursor& at, std::string& out) {
  if (is_text(at)) out = at.node->text;
  if (is_text(at) && !has_control(out, false)) return true;
  reader.problem(at, describe(*at.node), "one line of text");
  return false;
}

bool identifier(Reader& reader, const Cursor& at, std::string& out) {
  if (is_text(at)) out = at.node->text;
  if (is_text(at) && is_identifier(out)) return true;
  reader.problem(at, describe(*at.node),
                 "an identifier: 1 to 63 of a-z 0-9 -, starting with a letter",
                 is_text(at) ? identifier_hint(out) : "");
  return !out.empty();
}

bool person_name(Reader& reader, const Cursor& at, std::string& out) {
  if (!line_text(reader, at, out)) return false;
  const std::size_t length = characters(out);
  if (length <= limits::name_chars_max) return true;
  reader.problem(at, std::to_string(length) + " characters",
                 "at most " + std::to_string(limits::name_chars_max) + " characters");
  return false;
}

bool quorum(Reader& reader, const Cursor& at, Quorum& out) {
  const YamlNode& node = *at.node;
  if (node.kind == YamlNode::Kind::scalar && node.text == "all") {
    return out = {Quorum::Kind::all, 0}, true;
  }
  if (node.kind == YamlNode::Kind::scalar && node.text == "majority") {
    return out = {Quorum::Kind::majority, 0}, true;
  }
  const auto count = whole_number(node);
  if (count && *count >= 1 && *count <= 1'000'000) {
    return out = {Quorum::Kind::count, static_cast<std::uint32_t>(*count)}, true;
  }
  reader.problem(at, describe(node), "all, majority or a whole number from 1",
                 did_you_mean(node.text, {"all", "majority"}));
  return false;
}

bool truth(Reader& reader, const Cursor& at, bool& out) {
  const bool is_word = at.node->kind == YamlNode::Kind::scalar && !at.node->quoted;
  if (is_word && (at.node->text == "true" || at.node->text == "false")) {
    return out = at.node->text == "true", true;
  }
  reader.problem(at, describe(*at.node), "true or false");
  return false;
}

bool rate(Reader& reader, const Cursor& at, Rate& out) {
  const auto read = is_text(at) ? parse_rate(at.node->text) : Error{};
  if (read) return out = read.value(), true;
  reader.problem(at, describe(*at.node),
                 "N per day, week, month or year, N from 1 to 1000, such as 1 per year");
  return false;
}

bool secret(Reader& reader, const Cursor& at, SecretSource& out) {
  if (at.node->kind != YamlNode::Kind::mapping) {
    const bool is_scalar = at.node->kind == YamlNode::Kind::scalar;
    out.kind = SecretSource::Kind::file;  // Something is given: no further problem about that.
    reader.problem(at, is_scalar ? "a literal secret (not shown)" : describe(*at.node),
                   secret_forms,
                   is_scalar ? "Move it to a file that only the daemon may read." : "");
    return false;
  }
  static const std::vector<KeyInfo> forms{
      {"file", false, {}}, {"credential", false, {}}, {"env", false, {}}};
  int given = 0;
  reader.walk_mapping(at, forms, [&](std::size_t i, const Cursor& value) {
    constexpr SecretSource::Kind kinds[] = {
        SecretSource::Kind::file, SecretSource::Kind::credential, SecretSource::Kind::environment};
    ++given;
    out.kind = kinds[i];
    (void)line_text(reader, value, out.name);  // A problem has been noted.
  });
  if (given == 1) return true;
  if (given > 1) reader.problem(at, "several sources", secret_forms);
  if (at.node->entries.empty()) reader.problem(at, "an empty mapping", secret_forms);
  return false;
}

bool certificate_file(Reader& reader, const Cursor& at, SecretSource& out) {
  if (at.node->kind == YamlNode::Kind::mapping) {
    if (!secret(reader, at, out)) return false;
    if (out.kind == SecretSource::Kind::file) return true;
    reader.problem(at, "no file", "a path, or {file: PATH}");
    return false;
  }
  out.kind = SecretSource::Kind::file;
  return line_text(reader, at, out.name);
}

bool text_pairs(Reader& reader, const Cursor& at,
                std::vector<std::pair<std::string, std::string>>& out) {
  if (at.node->kind != YamlNode::Kind::mapping) {
    reader.problem(at, describe(*at.node), "a mapping of names to texts");
    return false;
  }
  std::vector<KeyInfo> names;
  for (const auto& entry : at.node->entries) {
    const auto same = [&](const KeyInfo& known) { return known.name == entry.key; };
    if (std::none_of(names.begin(), names.end(), same)) names.push_back({entry.key, false, {}});
  }
  return reader.walk_mapping(at, names, [&](std::size_t i, const Cursor& value) {
    if (value.node->kind == YamlNode::Kind::scalar) {
      out.emplace_back(names[i].name, value.node->text);
    } else {
      reader.problem(value, describe(*value.node), "text");
    }
  });
}

ReadValue<Span> span(Span least, Span most) {
  return [least, most](Reader& reader, const Cursor& at, Span& out) {
    const std::string range =
        "a duration from " + duration_text(least) + " to " + duration_text(most);
    if (!is_text(at)) {
      reader.problem(at, describe(*at.node), range + ", such as 90s or 2.5min");
      return false;
    }
    const auto read = parse_duration(at.node->text);
    if (!read) {
      reader.problem(
          at, describe(*at.node), range + ": a number with one of the units ms, s, min, h, d",
          whole_number(*at.node)
              ? "The unit is missing: " + at.node->text + "s or " + at.node->text + "min?"
              : "");
      return false;
    }
    if (read.value() < least || read.value() > most) {
      reader.problem(at, describe(*at.node), range);
      return false;
    }
    out = read.value();
    return true;
  };
}

ReadValue<double> number(double above, bool or_equal, double most) {
  return [=](Reader& reader, const Cursor& at, double& out) {
    const auto value = decimal_number(*at.node);
    const bool fits = value && *value <= most && (*value > above || (or_equal && *value == above));
    if (fits) return out = *value, true;
    reader.problem(at, describe(*at.node),
                   std::string("a number ") + (or_equal ? "from " : "above ") + number_text(above) +
                       " to " + number_text(most),
                   at.node->quoted ? "Write it without quotes." : "");
    return false;
  };
}

std::optional<std::int64_t> whole_number(const YamlNode& node) {
  if (node.kind != YamlNode::Kind::scalar || node.quoted) return std::nullopt;
  std::int64_t value = 0;
  const char* end = node.text.data() + node.text.size();
  const auto read = std::from_chars(node.text.data(), end, value);
  if (read.ec != std::errc{} || read.ptr != end) return std::nullopt;
  return value;
}

}  // namespace ebbwatch
