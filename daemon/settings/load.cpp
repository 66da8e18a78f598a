#include "settings/load.h"

#include <algorithm>
#include <map>

#include "settings/check.h"
#include "settings/files.h"
#include "settings/keys.h"
#include "settings/put_over.h"
#include "settings/reader.h"
#include "settings/values.h"
#include "settings/yaml_tree.h"

namespace ebbwatch {
namespace {

constexpr std::size_t file_bytes_max = 16 * 1024 * 1024;

// Mappings of the file as a whole belong together, so that one of them cannot be split over files.
const std::vector<std::string>& whole_mappings() {
  static const std::vector<std::string> names{"watcher", "detection", "listen", "keep"};
  return names;
}

class Loader {
 public:
  explicit Loader(std::string main_file) { files_.push_back(std::move(main_file)); }

  void read_text(std::string_view yaml, bool is_main) {
    const YamlTree tree = parse_yaml(yaml);
    if (tree.fault) {
      broken_ = true;
      return reader_.problem(tree.fault->place, "", "", tree.fault->found, tree.fault->allowed,
                             tree.fault->hint);
    }
    if (tree.root->kind == YamlNode::Kind::nothing) return;  // Checks say what is needed.
    const Cursor root{tree.root.get(), tree.root->place, "", ""};
    if (is_main) return (void)file_keys(true).fill(reader_, root, draft_);
    (void)file_keys(false).fill(reader_, without_repeats(root, repeats_), draft_);
  }

  void read_main_file() {
    reader_.begin_file(files_.front());
    const auto content = read_file(files_.front(), file_bytes_max);
    if (!content) return cannot_read(content.error());
    read_text(content.value(), true);
    for (std::size_t i = 0; i < draft_.include.size(); ++i) follow(i);
  }

  void read_main_text(std::string_view yaml) {
    reader_.begin_file(files_.front());
    read_text(yaml, true);
  }

  void put_over(const std::string& assignment) { ebbwatch::put_over(reader_, draft_, assignment); }

  Loaded finish() {
    Loaded loaded;
    loaded.settings = settings();
    auto& state_dir = loaded.settings.watcher.state_dir;
    state_dir = beside(state_dir, files_.front());
    if (!broken_) run_checks(loaded.settings);
    loaded.problems = reader_.take_problems();
    for (Problem& problem : loaded.problems) {
      if (problem.file.starts_with("--set ")) problem.line = problem.column = 0;
    }
    sort(loaded.problems);
    return loaded;
  }

 private:
  void cannot_read(const Error& error) {
    broken_ = true;
    reader_.problem(TextPlace{}, "", "", "cannot be read: " + error.text, "a readable file");
  }

  void follow(std::size_t index) {
    const std::string key = indexed("include", index);
    reader_.begin_file(files_.front());
    const auto found = included_files(draft_.include[index], files_.front());
    if (!found) {
      return reader_.problem_at(key, found.error().text,
                                "a file, or a pattern such as sites/*.yaml");
    }
    for (const std::string& file : found.value()) {
      const auto is_known = [&](const std::string& known) { return is_same_file(known, file); };
      if (std::any_of(files_.begin(), files_.end(), is_known)) continue;
      files_.push_back(file);
      reader_.begin_file(file);
      const auto content = read_file(file, file_bytes_max);
      if (!content)
        cannot_read(content.error());
      else
        read_text(content.value(), false);
    }
  }

  // Leaves out mappings that an earlier file has given, after saying so.
  Cursor without_repeats(const Cursor& root, YamlNode& rest) {
    rest = *root.node;
    for (const std::string& name : whole_mappings()) {
      if (!reader_.is_given(name)) continue;
      for (const auto& entry : rest.entries) {
        if (entry.key != name) continue;
        reader_.problem(entry.place, name, name + " again",
                        "given twice, first in " + reader_.place_text(name), "in one file only",
                        "Only lists are merged.");
      }
      std::erase_if(rest.entries, [&](const auto& entry) { return entry.key == name; });
    }
    return {&rest, root.place, "", ""};
  }

  Settings settings() {
    Settings settings;
    settings.file = files_.front();
    settings.watcher = draft_.watcher;
    settings.detection = apply(Detection{}, draft_.detection);
    settings.wish = apply(DetectionWish{}, draft_.detection);
    settings.sites = draft_.sites;
    settings.witnesses = draft_.witnesses;
    settings.notifiers = draft_.notifiers;
    settings.hours = draft_.hours;
    settings.keyholders = draft_.keyholders;
    settings.call_lists = draft_.call_lists;
    settings.listen = draft_.listen;
    settings.keep = draft_.keep;
    put_defaults(settings);
    return settings;
  }

  void put_defaults(Settings& settings) {
    WatcherSettings& watcher = settings.watcher;
    if (watcher.uplink_references.empty() && !reader_.is_given("watcher.uplink_quorum")) {
      watcher.uplink_quorum = 0;
    }
    const auto name_by_id = [](auto& item) {
      if (item.name.empty()) item.name = item.id;
    };
    for (KeyholderSettings& keyholder : settings.keyholders) name_by_id(keyholder);
    for (SiteSettings& site : settings.sites) {
      name_by_id(site);
      for (TankSettings& tank : site.tanks) {
        name_by_id(tank);
        for (ControllerSettings& controller : tank.controllers) name_by_id(controller);
      }
    }
    if (!reader_.is_given("watcher.time_zone")) watcher.time_zone = machine_time_zone();
    for (HoursSettings& hours : settings.hours) {
      if (!hours.time_zone) hours.time_zone = watcher.time_zone;
    }
    std::string& url = settings.listen.public_url;
    while (url.ends_with('/')) url.pop_back();
  }

  void run_checks(const Settings& settings) {
    reader_.begin_file(files_.front());
    const auto place_text = [this](const std::string& path) { return reader_.place_text(path); };
    for (const Finding& finding : check(settings, draft_.detection, place_text)) {
      if (reader_.has_problem(finding.key)) continue;
      if (!finding.list.empty() && reader_.has_problem(finding.list)) continue;
      reader_.problem_at(finding.key, finding.found, finding.allowed, finding.hint);
    }
  }

  void sort(std::vector<Problem>& problems) const {
    std::map<std::string, std::size_t> order;
    for (const std::string& file : files_) order.emplace(file, order.size());
    std::stable_sort(problems.begin(), problems.end(), [&](const Problem& a, const Problem& b) {
      const auto rank = [&](const Problem& problem) {
        return std::tuple(order[problem.file], problem.line, problem.column);
      };
      return rank(a) < rank(b);
    });
  }

  Reader reader_;
  Draft draft_;
  YamlNode repeats_;
  std::vector<std::string> files_;
  bool broken_ = false;  ///< Something could not be read at all: references may only seem dangling.
};

}  // namespace

std::string text(const Problem& problem) {
  std::string line = problem.file;
  if (problem.line > 0) {
    line += ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column);
  }
  line += ": ";
  if (!problem.key.empty()) line += problem.key + ": ";
  line += problem.found + "; allowed: " + problem.allowed + ".";
  if (!problem.hint.empty()) line += " " + problem.hint;
  return line;
}

Loaded load_settings(const std::string& path) {
  Loader loader(path);
  loader.read_main_file();
  return loader.finish();
}

Loaded load_settings_with(const std::string& path, const std::vector<std::string>& assignments) {
  Loader loader(path);
  loader.read_main_file();
  for (const std::string& assignment : assignments) loader.put_over(assignment);
  return loader.finish();
}

Loaded load_settings_text(std::string_view yaml, const std::string& name) {
  Loader loader(name);
  loader.read_main_text(yaml);
  return loader.finish();
}

}  // namespace ebbwatch
