#include "settings/put_over.h"

#include "settings/yaml_tree.h"

namespace ebbwatch {
namespace {

constexpr const char* form =
    "PATH=VALUE, such as detection.on_delay=8min or sites.ID.detection.off_delay=5min";

std::vector<std::string> split(const std::string& path) {
  std::vector<std::string> words(1);
  for (const char c : path) {
    if (c == '.') {
      words.emplace_back();
    } else {
      words.back() += c;
    }
  }
  return words;
}

/// Walks the words of a path to a level of detection settings.
class Way {
 public:
  Way(Reader& reader, std::vector<std::string> words) : reader_(reader), words_(std::move(words)) {}

  DetectionOverrides* to_level(Draft& draft) {
    if (!is_next("sites")) return take("detection") ? &draft.detection : wrong("detection, sites");
    SiteSettings* site = find(draft.sites, "sites");
    if (site == nullptr) return nullptr;
    if (!is_next("tanks")) return take("detection") ? &site->detection : wrong("detection, tanks");
    TankSettings* tank = find(site->tanks, "tanks");
    if (tank == nullptr) return nullptr;
    if (!is_next("controllers"))
      return take("detection") ? &tank->detection : wrong("detection, controllers");
    ControllerSettings* controller = find(tank->controllers, "controllers");
    if (controller == nullptr) return nullptr;
    return take("detection") ? &controller->detection : wrong("detection");
  }
  const std::string& walked() const { return walked_; }
  std::vector<std::string> rest() const {
    return {words_.begin() + static_cast<std::ptrdiff_t>(at_), words_.end()};
  }

 private:
  bool is_next(const char* word) const { return at_ < words_.size() && words_[at_] == word; }
  bool take(const char* word) {
    if (!is_next(word)) return false;
    step();
    return true;
  }
  void step() { walked_ += (walked_.empty() ? "" : ".") + words_[at_++]; }
  DetectionOverrides* wrong(const std::string& allowed) {
    const std::string found = at_ < words_.size() ? "\"" + words_[at_] + "\"" : "nothing";
    reader_.problem(TextPlace{}, walked_, "", found, allowed,
                    "Only settings under detection: can be tried out.");
    return nullptr;
  }
  template <class Item>
  Item* find(std::vector<Item>& items, const char* list) {
    take(list);
    const std::string id = at_ < words_.size() ? words_[at_] : "";
    std::vector<std::string> known;
    for (Item& item : items) {
      if (item.id == id) return step(), &item;
      known.push_back(item.id);
    }
    reader_.problem(TextPlace{}, walked_, "", "\"" + id + "\"", join(known),
                    did_you_mean(id, known));
    return nullptr;
  }

  Reader& reader_;
  std::vector<std::string> words_;
  std::size_t at_ = 0;
  std::string walked_;
};

void replace_the_other_way(DetectionOverrides& level, const DetectionOverrides& given) {
  if (given.has_delays()) {
    level.tell_within.reset();
    level.false_alarms_at_most.reset();
  }
  if (given.has_wish()) {
    level.on_delay.reset();
    level.min_missed.reset();
  }
}

}  // namespace

void put_over(Reader& reader, Draft& draft, const std::string& assignment) {
  reader.begin_file("--set " + assignment);
  const auto equals = assignment.find('=');
  const bool has_form = equals != assignment.npos && equals > 0 &&
                        assignment.find_first_of("\r\n") == assignment.npos;
  if (!has_form) {
    return reader.problem(TextPlace{}, "", "", "no value", form);
  }
  Way way(reader, split(assignment.substr(0, equals)));
  DetectionOverrides* level = way.to_level(draft);
  if (level == nullptr) return;
  // Read as the lines that would stand in the file, so that values and errors are the same.
  std::string yaml, indent;
  for (const std::string& word : way.rest()) {
    yaml += (yaml.empty() ? "" : "\n") + indent + word + ":";
    indent += "  ";
  }
  if (yaml.empty()) return reader.problem(TextPlace{}, way.walked(), "", "no key", form);
  const YamlTree tree = parse_yaml(yaml + " " + assignment.substr(equals + 1));
  if (tree.fault) {
    return reader.problem(TextPlace{}, way.walked(), "", tree.fault->found, tree.fault->allowed,
                          tree.fault->hint);
  }
  DetectionOverrides given;
  // Their places are of no use to anybody: the whole is one argument.
  const Cursor root{tree.root.get(), TextPlace{}, way.walked(), assignment};
  if (!detection_keys().fill(reader, root, given)) return;
  replace_the_other_way(*level, given);
  Reader silent;  // Problems were noted the first time.
  (void)detection_keys().fill(silent, root, *level);
}

}  // namespace ebbwatch
