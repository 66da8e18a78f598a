// What watchers say to each other, version 1: one form for questions and answers, as JSON. Ages,
// not times, so that clocks need not agree. Pure.
//
// {"version": 1, "from": "harbour", "to": "breakwater", "link": true, "every_s": 30,
//  "next": "…",                             a nonce that the receiver may sign its next request
//  with "ask": ["lagoon-main"],                  controllers: what did you last hear of them?
//  "words": [["lagoon-main", 12.5]],        the answers: seconds since they were heard, null: never
//  "relayed": [["reef-main", 0.4]],         heard directly by the sender, passed on
//  "duties": ["Elm Street"], "duties_in_all": 1,   sites of which it tells first
//  "outages": [{…}]}                        see SharedOutage
// Members may be left out; unknown ones are passed over.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/result.h"
#include "core/time.h"

namespace ebbwatch {

namespace witness_limits {
inline constexpr std::size_t message_bytes_max = 16 * 1024;
inline constexpr std::size_t subjects_max = 100;  ///< Asked, answered or relayed in one message.
inline constexpr std::size_t duties_max = 10;     ///< Names; the number of all is given besides.
inline constexpr std::size_t outages_max = 32;
inline constexpr std::size_t outages_bytes_max = 6 * 1024;  ///< Of one message, about.
inline constexpr std::size_t delivered_max = 24;            ///< Of one outage.
inline constexpr std::size_t text_chars_max = 160;
inline constexpr std::size_t partners_max = 16;
}  // namespace witness_limits

/// What a watcher knows and has done about one outage at a place of which several watchers tell.
struct SharedOutage {
  std::string name;   ///< The same at all watchers: "elm-street-5".
  std::string place;  ///< Site, area or provider.
  Span lasts;         ///< Since contact ended.
  bool told = false;  ///< The sender tells of it and has reached somebody.
  bool closed = false;
  std::vector<std::string> delivered;  ///< "GROUP KEYHOLDER NOTIFIER" of notices that arrived.
  std::string taken_by;                ///< Who has taken it on; empty: nobody.
  Span taken_since;                    ///< How long ago. @pre taken_by
  std::optional<Span> put_away_for;    ///< Shelved for so much longer.
};

struct WitnessMessage {
  struct Word {
    std::string controller;
    std::optional<Span> age;  ///< Empty: never heard, or not since it may have missed some.
  };
  std::string from, to;
  bool link_works = true;  ///< The sender's own link: without it its silence says nothing.
  Span every;              ///< Its next message may be expected so soon; 0: not said.
  std::string next;
  std::vector<std::string> ask;
  std::vector<Word> words;
  std::vector<Word> relayed;
  std::vector<std::string> duties;
  std::uint32_t duties_in_all = 0;
  std::vector<SharedOutage> outages;
};

std::string encode(const WitnessMessage& message);
/// Errors: bad_input, naming the member. Bounded by witness_limits; ages are at least 0 and at most
/// ten years.
Result<WitnessMessage> decode(std::string_view text);

}  // namespace ebbwatch
