#include "app/people.h"

#include <doctest/doctest.h>

#include "app/board_acts.h"

using namespace ebbwatch;

namespace {

using Ids = std::vector<std::string>;

Settings club() {
  Settings settings;
  for (const char* name : {"Robin", "Sam", "Kim"}) {
    auto& keyholder = settings.keyholders.emplace_back();
    keyholder.name = keyholder.id = name;
    keyholder.id[0] = static_cast<char>(name[0] + 32);
  }
  settings.call_lists.resize(2);
  settings.call_lists[0].id = "east";
  settings.call_lists[0].steps = {{{}, {"robin"}, {"text"}}, {Span::of_min(15), {"sam"}, {"text"}}};
  settings.call_lists[1].id = "west";
  settings.call_lists[1].steps = {{{}, {"sam"}, {"text"}}};
  for (const char* id : {"elm", "oak", "ash"}) {
    SiteSettings site;
    site.id = id;
    site.area = "hill";
    site.tanks.resize(1);
    site.tanks[0].id = std::string(id) + "-tank";
    site.tanks[0].controllers.resize(1);
    site.tanks[0].controllers[0].id = std::string(id) + "-main";
    settings.sites.push_back(site);
  }
  settings.sites[0].call_list = "east";
  settings.sites[1].call_list = "west";
  return settings;
}

}  // namespace

TEST_CASE("people: a keyholder is found by identifier or name, in any case of letters") {
  CHECK(keyholder_called(club(), "ROBIN") == "robin");
  CHECK(keyholder_called(club(), "Sam") == "sam");
  CHECK(keyholder_called(club(), "Robi").empty());
  CHECK(keyholder_called(club(), "").empty());
  CHECK(person_name(club(), "kim") == "Kim");
  CHECK(person_name(club(), "somebody") == "somebody");
}

TEST_CASE("people: own sites are those whose call list tells the person, at whatever step") {
  CHECK(sites_of_keyholder(club(), "robin") == Ids{"elm"});
  CHECK(sites_of_keyholder(club(), "sam") == Ids{"elm", "oak"});
  CHECK(sites_of_keyholder(club(), "kim").empty());
}

TEST_CASE("people: every subject lies in, is or holds sites") {
  CHECK(sites_of_subject(club(), "controller", "oak-main") == Ids{"oak"});
  CHECK(sites_of_subject(club(), "tank", "elm-tank") == Ids{"elm"});
  CHECK(sites_of_subject(club(), "site", "ash") == Ids{"ash"});
  CHECK(sites_of_subject(club(), "area", "hill") == Ids{"elm", "oak", "ash"});
  CHECK(sites_of_subject(club(), "provider", "hill").empty());
  CHECK(sites_of_subject(club(), "tank", "elm").empty());
}

TEST_CASE("people: only a keyholder's session has sites of its own, and only that person's") {
  Session session;
  session.role = Role::keyholder;
  session.person = "Robin";
  CHECK(own_sites(club(), session).empty());
  session.keyholder = "robin";
  CHECK(own_sites(club(), session) == Ids{"elm"});
  CHECK(doer(session) == "robin");
}

TEST_CASE("texts of people: trimmed, bounded in characters, without control characters") {
  CHECK(clean_text("  water\r\nchange \n", 20) == "water\nchange");
  CHECK(clean_text("\xC3\xA4\xC3\xB6", 2) == "\xC3\xA4\xC3\xB6");
  CHECK(clean_text("abc", 2).empty());
  CHECK(clean_text("a\x1b[31m", 20).empty());
  CHECK(clean_text("a\x7f", 20).empty());
  CHECK(clean_text("\xff", 20).empty());
  CHECK(clean_text(" \n ", 20).empty());
}
