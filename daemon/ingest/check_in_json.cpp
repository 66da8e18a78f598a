#include <boost/json/basic_parser_impl.hpp>
#include <boost/json/parse.hpp>
#include <boost/json/serialize.hpp>
#include <boost/json/value.hpp>
#include <set>

#include "core/limits.h"
#include "ingest/check_in.h"
#include "ingest/check_in_fields.h"

namespace ebbwatch {
namespace {

namespace json = boost::json;

/// Boost.JSON keeps the last of two members with one name; RFC 8259 leaves that open and we refuse
/// it, so that no two readers of one body can disagree. This pass only looks at names.
class RepeatFinder {
 public:
  static constexpr std::size_t max_array_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_object_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_string_size = static_cast<std::size_t>(-1);
  static constexpr std::size_t max_key_size = static_cast<std::size_t>(-1);
  using error_code = json::error_code;

  std::string repeated;  ///< The first repeated name.

  bool on_document_begin(error_code&) { return true; }
  bool on_document_end(error_code&) { return true; }
  bool on_array_begin(error_code&) { return true; }
  bool on_array_end(std::size_t, error_code&) { return true; }
  bool on_object_begin(error_code&) { return names_.emplace_back(), true; }
  bool on_object_end(std::size_t, error_code&) { return names_.pop_back(), true; }
  bool on_string_part(json::string_view, std::size_t, error_code&) { return true; }
  bool on_string(json::string_view, std::size_t, error_code&) { return true; }
  bool on_key_part(json::string_view part, std::size_t, error_code&) { return key_ += part, true; }
  bool on_key(json::string_view part, std::size_t, error_code& error) {
    key_ += part;
    if (!names_.back().insert(key_).second) {
      repeated = key_;
      error = json::error::syntax;
      return false;
    }
    key_.clear();
    return true;
  }
  bool on_number_part(json::string_view, error_code&) { return true; }
  bool on_int64(std::int64_t, json::string_view, error_code&) { return true; }
  bool on_uint64(std::uint64_t, json::string_view, error_code&) { return true; }
  bool on_double(double, json::string_view, error_code&) { return true; }
  bool on_bool(bool, error_code&) { return true; }
  bool on_null(error_code&) { return true; }
  bool on_comment_part(json::string_view, error_code&) { return true; }
  bool on_comment(json::string_view, error_code&) { return true; }

 private:
  std::vector<std::set<std::string>> names_;
  std::string key_;
};

json::parse_options strict_options() {
  json::parse_options options;
  options.max_depth = limits::json_depth_max;
  return options;
}

Result<json::value> read(std::string_view body) {
  json::basic_parser<RepeatFinder> finder(strict_options());
  json::error_code error;
  const std::size_t stopped = finder.write_some(false, body.data(), body.size(), error);
  if (!finder.handler().repeated.empty()) {
    return Error{Errc::bad_input, "The JSON body has the member " +
                                      shown_text(finder.handler().repeated) +
                                      " twice in one object; allowed is once. Send it only once."};
  }
  if (error == json::error::too_deep) {
    return Error{Errc::bad_input, "The JSON body is nested deeper than " +
                                      std::to_string(limits::json_depth_max) +
                                      " levels; send a flat object."};
  }
  json::value value;
  if (!error) value = json::parse(body, error, {}, strict_options());
  if (error) {
    return Error{Errc::bad_input, "The body is not valid JSON (RFC 8259), at byte " +
                                      std::to_string(stopped) + ": " + error.message() +
                                      ". Send one object such as {\"seq\": 1}."};
  }
  return value;
}

FieldValue json_value(const json::value& value) {
  FieldValue out;
  if (const auto* text = value.if_string()) {
    out.kind = FieldValue::Kind::text;
    out.text = std::string_view(*text);
    out.shown = shown_text(out.text);
  } else if (value.is_number()) {
    out.kind = FieldValue::Kind::number;
    out.number = value.to_number<double>();
    out.shown = json::serialize(value);
  } else if (const auto* truth = value.if_bool()) {
    out.kind = FieldValue::Kind::truth;
    out.truth = *truth;
    out.shown = *truth ? "true" : "false";
  } else {
    out.shown = value.is_null() ? "null" : value.is_array() ? "an array" : "an object";
  }
  return out;
}

Result<void> add_json_reading(ParsedCheckIn& out, std::string_view name, const json::value& value) {
  const auto* parts = value.if_object();
  if (parts == nullptr) return add_reading(out, name, "", json_value(value));
  for (const auto& part : *parts) {
    if (part.key().empty()) {
      return Error{Errc::bad_input,
                   "readings." + std::string(name) +
                       ": found an empty name; allowed are 1 to 80 bytes. Name it."};
    }
    const auto added = add_reading(out, name, part.key(), json_value(part.value()));
    if (!added) return added;
  }
  return {};
}

Result<void> add_json_readings(ParsedCheckIn& out, const json::value& value) {
  const auto* readings = value.if_object();
  if (readings == nullptr) {
    return Error{Errc::bad_input,
                 "readings: found " + json_value(value).shown +
                     "; allowed is an object, {\"temperature_c\": 25.1}. Send one, "
                     "or leave readings out."};
  }
  for (const auto& entry : *readings) {
    if (auto added = add_json_reading(out, entry.key(), entry.value()); !added) return added;
  }
  return {};
}

}  // namespace

Result<void> add_readings_text(ParsedCheckIn& out, std::string_view text) {
  auto value = read(text);
  if (!value) return Error{Errc::bad_input, "readings: " + value.error().text};
  return add_json_readings(out, value.value());
}

Result<ParsedCheckIn> parse_check_in_json(std::string_view body) {
  const auto value = read(body);
  if (!value) return value.error();
  const auto* members = value.value().if_object();
  if (members == nullptr) {
    return Error{Errc::bad_input, "The JSON body is " + json_value(value.value()).shown +
                                      "; allowed is an object. Send one such as {\"seq\": 1}."};
  }
  ParsedCheckIn out;
  for (const auto& member : *members) {
    const std::string_view name = member.key();
    Result<void> taken;
    if (name == "readings") {
      taken = add_json_readings(out, member.value());
    } else if (name == "key" && member.value().is_string()) {
      out.key = std::string(member.value().get_string());
    } else if (is_field(name)) {
      taken = set_field(out, name, json_value(member.value()));
    } else if (is_known_reading(name)) {
      taken = add_json_reading(out, name, member.value());
    }
    if (!taken) return taken.error();
  }
  return out;
}

}  // namespace ebbwatch
