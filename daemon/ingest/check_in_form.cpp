#include "ingest/check_in.h"
#include "ingest/check_in_fields.h"
#include "text/form.h"
#include "text/utf8.h"

namespace ebbwatch {
namespace {

struct Pair {
  std::string name, value;
};

Result<Pair> decoded(std::string_view pair) {
  const auto equals = pair.find('=');
  const auto name = form_decode(pair.substr(0, equals));
  const auto value =
      form_decode(equals == std::string_view::npos ? std::string_view{} : pair.substr(equals + 1));
  if (!name || !value) {
    return Error{Errc::bad_input, "The form has a % without two hexadecimal digits after it, in " +
                                      shown_text(pair) + ". Write a plain % as %25."};
  }
  if (!is_utf8(*name) || !is_utf8(*value)) {
    return Error{Errc::bad_input,
                 "The form is not UTF-8 once decoded. Send plain ASCII or percent-encoded UTF-8."};
  }
  return Pair{*name, *value};
}

/// `readings.NAME` and `watts.NAME`, given one by one.
Result<void> add_dotted(ParsedCheckIn& out, std::string_view name, std::string_view value) {
  if (name.starts_with("readings.")) name.remove_prefix(9);
  if (name.starts_with("watts.")) {
    return add_reading(out, "watts", name.substr(6), form_value(value));
  }
  return add_reading(out, name, "", form_value(value));
}

bool is_reading(std::string_view name) {
  return name.starts_with("readings.") || name.starts_with("watts.") || is_known_reading(name);
}

}  // namespace

Result<void> take_form_pair(ParsedCheckIn& out, std::string_view name, std::string_view value) {
  if (name == "readings") return add_readings_text(out, value);
  if (is_field(name)) return set_field(out, name, form_value(value));
  if (is_reading(name)) return add_dotted(out, name, value);
  return {};
}

Result<ParsedCheckIn> parse_check_in_form(std::string_view form) {
  ParsedCheckIn out;
  std::vector<std::string> seen;
  while (!form.empty()) {
    const auto end = form.find('&');
    const auto text = form.substr(0, end);
    form.remove_prefix(end == std::string_view::npos ? form.size() : end + 1);
    if (text.empty()) continue;
    auto pair = decoded(text);
    if (!pair) return pair.error();
    const bool matters = pair.value().name == "readings" || is_field(pair.value().name);
    for (const auto& name : seen) {
      if (name != pair.value().name) continue;
      return Error{Errc::bad_input, name + ": given twice; allowed is once. Send it only once."};
    }
    // Only names that mean something are kept: at most a dozen, so that this stays linear.
    if (matters) seen.push_back(pair.value().name);
    const auto taken = take_form_pair(out, pair.value().name, pair.value().value);
    if (!taken) return taken.error();
  }
  return out;
}

}  // namespace ebbwatch
