// The words of summaries and daily digests: one line for each notice in them. Pure.
#pragma once

#include <string>
#include <vector>

#include "notices/compose.h"
#include "notices/story.h"
#include "words/speech.h"

namespace ebbwatch {

/// Lines of a summary or digest in each of its parts; what is beyond is counted.
inline constexpr std::size_t news_lines_max = 60;

/// What a summary or digest says of one notice. @param link its answer page; empty: none.
NewsLine news_line(const Story& story, Occasion occasion, const std::string& link,
                   const Speech& say, WallTime now);
/// The data of a summary or digest, for programs: which notices are told in it, and its lines.
std::string bundle_json(const Story& story, const std::vector<std::string>& notices);

/// "Notifier mail: does not deliver since 14:02: 550 no such user", of matters that come in
/// digests.
std::string bundle_line(const Speech& say, const Story& story);
/// "not proven for long, last on 2026-01-13"
std::string unproven_news(const Speech& say, const Story& story);
/// "12 out of contact, 3 back, 2 other notices": the headline of a summary or digest.
std::string bundle_news(const Speech& say, const Story& story);
/// The whole text but the last lines.
std::string bundle_text(const Speech& say, const Story& story);
/// The short text, in at most 160 septets.
std::string bundle_short_text(const Speech& say, const Story& story);

}  // namespace ebbwatch
