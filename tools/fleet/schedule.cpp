#include "schedule.h"

#include <algorithm>

#include "text/duration.h"

namespace ebbwatch::fleet {
namespace {

/// SplitMix64 (Steele, Lea, Flood 2014; public domain reference by Vigna): small, and the same on
/// every machine, unlike the distributions of the standard library.
std::uint64_t split_mix(std::uint64_t& state) {
  std::uint64_t z = (state += 0x9e3779b97f4a7c15ULL);
  z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
  z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
  return z ^ (z >> 31);
}

/// FNV-1a, so that a controller's dice depend on its name and not on its place in the file.
std::uint64_t hash_of(const std::string& text) {
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ULL;
  return hash;
}

template <class Window>
bool covered(const std::vector<Window>& windows, Span at) {
  return std::any_of(windows.begin(), windows.end(),
                     [&](const Window& w) { return w.from <= at && at < w.until; });
}

template <class Window>
void merge(std::vector<Window>& windows) {
  std::sort(windows.begin(), windows.end(),
            [](const Window& a, const Window& b) { return a.from < b.from; });
  std::vector<Window> out;
  for (const auto& window : windows) {
    if (!out.empty() && window.from <= out.back().until) {
      out.back().until = std::max(out.back().until, window.until);
    } else {
      out.push_back(window);
    }
  }
  windows = std::move(out);
}

}  // namespace

Schedule::Schedule(const Scenario& scenario)
    : scenario_(scenario), controllers_(scenario.controllers.size()) {
  place_windows();
  for (std::uint32_t i = 0; i < turns_.size(); ++i) due_.push({.at = turns_[i].at, .order = i});
  for (std::uint32_t i = 0; i < controllers_.size(); ++i) {
    controllers_[i].random = scenario_.seed ^ hash_of(scenario_.controllers[i].id);
    controllers_[i].started = scenario_.controllers[i].start_delay;
    plan(i);
  }
}

void Schedule::place_windows() {
  for (std::uint32_t h = 0; h < scenario_.happenings.size(); ++h) {
    const auto& happening = scenario_.happenings[h];
    const Window window{happening.at, happening.at + happening.length};
    for (std::size_t i = 0; i < controllers_.size(); ++i) {
      const auto& settings = scenario_.controllers[i];
      if (happening.subject != settings.id && happening.subject != settings.site) continue;
      auto& controller = controllers_[i];
      if (happening.kind == Happening::Kind::blip) {
        controller.mute.push_back(window);
      } else if (happening.kind == Happening::Kind::mains_cut && settings.battery_backed) {
        controller.on_battery.push_back(window);
      } else {
        controller.dark.push_back(window);
      }
    }
    Step turn;
    turn.happening = h;
    turn.kind = Step::Kind::begins;
    turn.at = window.from;
    turns_.push_back(turn);
    turn.kind = Step::Kind::ends;
    turn.at = window.until;
    turns_.push_back(turn);
  }
  std::stable_sort(turns_.begin(), turns_.end(),
                   [](const Step& a, const Step& b) { return a.at < b.at; });
  for (auto& controller : controllers_) merge(controller.dark);
}

/// Puts the controller's next check-in in the queue; a stretch without power before it means a
/// start after it.
void Schedule::plan(std::uint32_t index) {
  const auto& settings = scenario_.controllers[index];
  auto& controller = controllers_[index];
  const auto late = [&] {
    return Span::of_us(
        static_cast<std::int64_t>(draw(controller) * static_cast<double>(settings.jitter.us)));
  };
  Span at =
      controller.started + settings.interval * static_cast<std::int64_t>(controller.seq) + late();
  while (controller.next_dark < controller.dark.size()) {
    const Window& dark = controller.dark[controller.next_dark];
    if (at < dark.from) break;
    ++controller.next_dark;
    // Switched on only later than that, by its start delay: nothing to stop and start.
    if (controller.started >= dark.until) continue;
    controller.started = dark.until;
    controller.seq = 0;
    at = controller.started + late();
  }
  due_.push({.at = at, .order = static_cast<std::uint32_t>(turns_.size()) + index});
}

double Schedule::draw(Controller& from) {
  return static_cast<double>(split_mix(from.random) >> 11) * 0x1.0p-53;
}

Step Schedule::step_of(std::uint32_t index, Span at) {
  auto& controller = controllers_[index];
  Step step;
  step.at = at;
  step.controller = index;
  step.seq = controller.seq++;
  step.uptime = at - controller.started;
  step.on_battery = covered(controller.on_battery, at);
  // Drawn also when it is muted, so that a blip does not shift the later dice.
  const bool unlucky = draw(controller) < scenario_.controllers[index].loss;
  if (unlucky || covered(controller.mute, at)) step.kind = Step::Kind::lost;
  return step;
}

std::optional<Step> Schedule::next() {
  if (due_.empty() || due_.top().at >= scenario_.length) return std::nullopt;
  const Due due = due_.top();
  due_.pop();
  if (due.order < turns_.size()) return turns_[due.order];
  const auto index = due.order - static_cast<std::uint32_t>(turns_.size());
  const Step step = step_of(index, due.at);
  plan(index);
  return step;
}

std::string words(const Happening& happening) {
  const std::string length = " for " + duration_text(happening.length);
  switch (happening.kind) {
    case Happening::Kind::blip:
      return "a blip of " + happening.subject + length;
    case Happening::Kind::mains_cut:
      return "a mains cut at " + happening.subject + length;
    case Happening::Kind::crash:
      return "a crash of " + happening.subject + length;
  }
  return {};
}

}  // namespace ebbwatch::fleet
