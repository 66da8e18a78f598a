// One file per site: what `include` merges and what it refuses.
#include <filesystem>
#include <fstream>

#include "support/temporary_folder.h"
#include "unit/settings/sample.h"

using namespace ebbwatch;
using test::changed;
using test::problems_of;
using test::sample;

namespace {

class Folder {
 public:
  std::string write(const std::string& name, const std::string& content) const {
    const std::filesystem::path file = std::filesystem::path(folder_.path()) / name;
    std::filesystem::create_directories(file.parent_path());
    std::ofstream(file) << content;
    return file.string();
  }
  /// Problems with the folder's name taken out.
  std::string without_path(std::string problems) const {
    const std::string prefix = folder_.path() + "/";
    for (auto at = problems.find(prefix); at != problems.npos; at = problems.find(prefix)) {
      problems.erase(at, prefix.size());
    }
    return problems;
  }

 private:
  test::TemporaryFolder folder_;
};

std::string site(const std::string& id) {
  return "sites:\n  - id: " + id + "\n    call_list: everyday\n    tanks:\n      - {id: " + id +
         "-tank, controllers: [{id: " + id + "-main, interval: 60s}]}\n";
}

}  // namespace

TEST_CASE("include: lists of all files are merged, those of the main file first") {
  const Folder folder;
  folder.write("sites/b.yaml", site("birch"));
  folder.write("sites/a.yaml", site("ash") + "keyholders: [{id: sam}]\n");
  folder.write("sites/readme.txt", "no YAML: [");
  const std::string file = folder.write("main.yaml", "include: [sites/*.yaml]\n" + sample);
  const Loaded result = load_settings(file);
  REQUIRE(problems_of(result) == "");
  REQUIRE(result.settings.sites.size() == 3);
  CHECK(result.settings.sites[0].id == "elm-street");
  CHECK(result.settings.sites[1].id == "ash");
  CHECK(result.settings.sites[2].id == "birch");
  CHECK(result.settings.keyholders.size() == 2);
}

TEST_CASE("include: problems name the file and count within it") {
  const Folder folder;
  folder.write("sites/a.yaml", changed(site("ash"), "call_list: everyday", "call_list: everday"));
  folder.write("sites/b.yaml", site("ash") + "watcher: {name: other}\nlistn: {}\n");
  const std::string file = folder.write("main.yaml", "include: [sites/*.yaml]\n" + sample);
  CHECK(folder.without_path(problems_of(load_settings(file))) ==
        "sites/a.yaml:3:16: sites[0].call_list: there is no call list \"everday\"; allowed: one of "
        "everyday. Did you mean everyday?\n"
        "sites/b.yaml:2:9: sites[0].id: \"ash\" is already a site, see sites/a.yaml:2; allowed: "
        "each site once in all files.\n"
        "sites/b.yaml:5:14: sites[0].tanks[0].id: \"ash-tank\" is already a tank, see "
        "sites/a.yaml:5; allowed: each tank once in all files.\n"
        "sites/b.yaml:5:43: sites[0].tanks[0].controllers[0].id: \"ash-main\" is already a "
        "controller, see sites/a.yaml:5; allowed: each controller once in all files.\n"
        "sites/b.yaml:6:1: watcher: given twice, first in main.yaml:3; allowed: in one file only. "
        "Only lists are merged.\n"
        "sites/b.yaml:7:1: listn: unknown key; allowed: watcher, detection, sites, witnesses, "
        "notifiers, hours, keyholders, call_lists, listen, keep. Did you mean listen?\n");
}

TEST_CASE("include: a pattern may match nothing, but its folder and a plain file must exist") {
  const Folder folder;
  folder.write("sites/readme.txt", "");
  const auto problems = [&](const std::string& include) {
    return folder.without_path(
        problems_of(load_settings(folder.write("main.yaml", include + "\n" + sample))));
  };
  CHECK(problems("include: [sites/*.yaml]") == "");
  CHECK(problems("include: [sits/*.yaml]").find("include[0]: no folder ") != std::string::npos);
  CHECK(problems("include: [more.yaml]") ==
        "main.yaml:1:11: include[0]: no file more.yaml; allowed: a file, or a pattern such as "
        "sites/*.yaml.\n");
}

TEST_CASE("include: a pattern that also matches the main file does not read it twice") {
  const Folder folder;
  folder.write("ash.yaml", site("ash"));
  const std::string file = folder.write("main.yaml", "include: [\"*.yaml\", ash.yaml]\n" + sample);
  const Loaded result = load_settings(file);
  CHECK(problems_of(result) == "");
  CHECK(result.settings.sites.size() == 2);
}

TEST_CASE("include: an included file may not include others") {
  const Folder folder;
  folder.write("ash.yaml", "include: [x.yaml]\n" + site("ash"));
  const std::string file = folder.write("main.yaml", "include: [ash.yaml]\n" + sample);
  CHECK(folder.without_path(problems_of(load_settings(file))) ==
        "ash.yaml:1:1: include: unknown key; allowed: watcher, detection, sites, witnesses, "
        "notifiers, hours, keyholders, call_lists, listen, keep.\n");
}

TEST_CASE("include: a broken file does not make others look wrong") {
  const Folder folder;
  folder.write("people.yaml", "keyholders: [{id: sam}\n");
  const std::string yaml =
      changed(sample, "tell: [robin], by: [text, mail]", "tell: [sam], by: [text]");
  const std::string file = folder.write("main.yaml", "include: [people.yaml]\n" + yaml);
  const Loaded result = load_settings(file);
  REQUIRE(result.problems.size() == 1);
  CHECK(folder.without_path(result.problems[0].file) == "people.yaml");
}

TEST_CASE("settings: a file that is not there is one problem") {
  const Folder folder;
  const Loaded result = load_settings(folder.write("x", "") + ".yaml");
  CHECK(folder.without_path(problems_of(result)) ==
        "x.yaml: cannot be read: No such file or directory; allowed: a readable file.\n");
}

TEST_CASE("settings: an included empty file is fine") {
  const Folder folder;
  folder.write("empty.yaml", "# nothing yet\n");
  const std::string file = folder.write("main.yaml", "include: [empty.yaml]\n" + sample);
  CHECK(problems_of(load_settings(file)) == "");
}
