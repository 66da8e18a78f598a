#include "notices/bundle_text.h"

#include <boost/json/array.hpp>
#include <boost/json/object.hpp>
#include <boost/json/serialize.hpp>

#include "notices/lines.h"
#include "notices/phrases.h"
#include "text/gsm7.h"
#include "text/rfc3339.h"

namespace ebbwatch {
namespace {

constexpr std::size_t line_columns = 300;  // Names are bounded; no line is cut in practice.
constexpr std::size_t date_chars = 10;

NewsLine::Kind kind_of(const Story& story) {
  if (story.topic != Topic::decision || story.reading) return NewsLine::Kind::other;
  switch (story.kind) {
    case DecisionKind::loss:
    case DecisionKind::cause_revised:
      return NewsLine::Kind::lost;
    case DecisionKind::recovery:
      return NewsLine::Kind::back;
    case DecisionKind::watch_gap:
    case DecisionKind::unsteady:
    case DecisionKind::steady:
      break;
  }
  return NewsLine::Kind::other;
}

std::size_t count(const Story& story, NewsLine::Kind kind) {
  std::size_t found = 0;
  for (const NewsLine& line : story.news) found += line.kind == kind ? 1 : 0;
  return found;
}

std::string counted(const Speech& say, std::size_t count, Phrase one, Phrase many) {
  return count == 1 ? say(one) : say(many, {{"count", std::to_string(count)}});
}

std::string lines_of(const Speech& say, const Story& story, NewsLine::Kind kind, Phrase title) {
  const std::size_t all = count(story, kind);
  if (all == 0) return "";
  std::string text = say(title) + " (" + std::to_string(all) + "):\n";
  std::size_t told = 0;
  for (const NewsLine& line : story.news) {
    if (line.kind != kind || told == news_lines_max) continue;
    ++told;
    text += wrap(line.text, "- ", "  ");
    if (!line.link.empty()) text += "  " + say(Phrase::to_take_it_on) + " " + line.link + "\n";
  }
  if (told < all) {
    text += wrap(say(Phrase::and_more_news, {{"count", std::to_string(all - told)}}));
  }
  return text + "\n";
}

std::string newest_lost(const Story& story) {
  for (auto line = story.news.rbegin(); line != story.news.rend(); ++line) {
    if (line->kind == NewsLine::Kind::lost) return line->text;
  }
  return story.news.empty() ? "" : story.news.back().text;
}

}  // namespace

NewsLine news_line(const Story& story, Occasion occasion, const std::string& link,
                   const Speech& say, WallTime now) {
  NewsLine line;
  line.kind = kind_of(story);
  if (priority_of(story) == Priority::low && story.topic != Topic::decision) {
    line.text = bundle_line(say, story);
    return line;
  }
  line.text = heading(say, story, line_columns, columns) + ": " +
              news(story, {occasion, now, {}, {}, say.language()}, false);
  if (story.reading && story.kind == DecisionKind::loss) line.link = link;
  if (line.kind != NewsLine::Kind::lost) return line;
  const std::string cause = short_cause(say, story);
  if (!cause.empty()) line.text += ", " + cause;
  line.link = link;
  return line;
}

std::string bundle_json(const Story& story, const std::vector<std::string>& notices) {
  namespace json = boost::json;
  json::array ids, lines;
  for (const std::string& id : notices) ids.emplace_back(id);
  for (const NewsLine& line : story.news) lines.emplace_back(line.text);
  return json::serialize(json::object{{"at", to_rfc3339(story.at)},
                                      {"watcher", story.watcher},
                                      {"notices", std::move(ids)},
                                      {"news", std::move(lines)}});
}

std::string bundle_line(const Speech& say, const Story& story) {
  const std::string line = heading(say, story, line_columns, columns) + ": " +
                           news(story, {{}, story.at, {}, {}, say.language()}, false);
  return line + (story.remark.empty() ? "" : ": " + one_line(story.remark));
}

std::string unproven_news(const Speech& say, const Story& story) {
  if (!story.lost_at) return say(Phrase::never_proven);
  return say(Phrase::not_proven, {{"date", to_rfc3339(*story.lost_at).substr(0, date_chars)}});
}

std::string bundle_news(const Speech& say, const Story& story) {
  if (story.topic == Topic::digest) {
    return counted(say, story.news.size(), Phrase::digest_of_one, Phrase::digest_of_many);
  }
  const std::size_t lost = count(story, NewsLine::Kind::lost);
  const std::size_t back = count(story, NewsLine::Kind::back);
  const std::size_t other = count(story, NewsLine::Kind::other);
  std::string text;
  const auto add = [&text](const std::string& part) { text += (text.empty() ? "" : ", ") + part; };
  if (lost > 0) add(say(Phrase::count_out_of_contact, {{"count", std::to_string(lost)}}));
  if (back > 0) add(say(Phrase::count_back, {{"count", std::to_string(back)}}));
  if (other > 0) add(counted(say, other, Phrase::one_other_notice, Phrase::other_notices));
  return text;
}

std::string bundle_text(const Speech& say, const Story& story) {
  using Kind = NewsLine::Kind;
  if (story.topic == Topic::digest) {
    return wrap(say(Phrase::digest_opening,
                    {{"watcher", story.watcher}, {"until", say.until(story.at)}})) +
           "\n" + lines_of(say, story, Kind::other, Phrase::title_digest);
  }
  const std::string text = wrap(say(Phrase::summary_opening)) + "\n" +
                           lines_of(say, story, Kind::lost, Phrase::title_lost) +
                           lines_of(say, story, Kind::back, Phrase::title_back) +
                           lines_of(say, story, Kind::other, Phrase::title_other_notices);
  if (count(story, Kind::lost) == 0) return text;
  return text + say(Phrase::to_take_all_on) + "\n" + wrap(say(Phrase::take_all_on), "  ", "  ") +
         "\n" + say(Phrase::title_check_first) + "\n" + wrap(say(Phrase::check_many), "  ", "  ") +
         wrap(say(Phrase::take_care)) + "\n";
}

std::string bundle_short_text(const Speech& say, const Story& story) {
  const bool lost = count(story, NewsLine::Kind::lost) > 0;
  const std::string head = shorten(gsm7_line(story.watcher), 20, gsm7_septets) + ": " +
                           gsm7_line(bundle_news(say, story)) + ".";
  const std::string end = lost ? " " + gsm7_line(say(Phrase::short_take_all_on)) : "";
  const std::string start =
      story.topic == Topic::digest ? " " : " " + gsm7_line(say(Phrase::short_newest)) + " ";
  const std::size_t used = gsm7_septets(head) + gsm7_septets(end) + gsm7_septets(start) + 1;
  const std::size_t room = used < segment_septets_max ? segment_septets_max - used : 0;
  const std::string newest = cut_after_word(gsm7_line(newest_lost(story)), room, gsm7_septets);
  return head + (newest.empty() ? "" : start + newest + ".") + end;
}

}  // namespace ebbwatch
