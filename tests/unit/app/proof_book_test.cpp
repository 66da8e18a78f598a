// Which ways to people are proven, and which exercises wait for answers.
#include "app/proof_book.h"

#include <doctest/doctest.h>

#include "app/drill_book.h"

using namespace ebbwatch;

namespace {

constexpr WallTime noon{1'700'000'000'000'000};

Settings club() {
  Settings settings;
  settings.notifiers.resize(3);
  settings.notifiers[0].id = "mail";
  settings.notifiers[0].kind = NotifierKind::email;
  settings.notifiers[1].id = "text";
  settings.notifiers[1].kind = NotifierKind::sms_gateway;
  settings.notifiers[2].id = "siren";
  CallListSettings list;
  list.id = "everyday";
  list.steps = {{Span{}, {"robin"}, {"mail", "text"}},
                {Span{}, {"robin", "sam"}, {"siren", "text"}}};
  list.prove_every = Span::of_days(45);
  settings.call_lists = {list};
  return settings;
}

std::string shown(const std::vector<WayProof>& ways) {
  std::string out;
  for (const WayProof& way : ways) {
    out += way.keyholder + "/" + way.notifier + (way.asks_answer ? " asks" : "") +
           (way.proven_at ? " proven" : "") + (way.overdue ? " overdue" : "") + "; ";
  }
  return out;
}

}  // namespace

TEST_CASE("proofs: a way that can be answered is proven by the answer, others by the delivery") {
  std::vector<ProofRow> kept;
  ProofBook proofs([&](ProofRow row) { kept.push_back(std::move(row)); });
  const AnswerWays links{true, false};
  CHECK(shown(way_proofs(club(), proofs, links, noon)) ==
        "robin/mail asks overdue; robin/text overdue; robin/siren overdue; sam/siren overdue; "
        "sam/text overdue; ");
  proofs.delivered("robin", "mail", noon);
  proofs.delivered("robin", "text", noon);
  CHECK(shown(way_proofs(club(), proofs, links, noon))
            .starts_with("robin/mail asks overdue; robin/text proven; "));
  proofs.answered("robin", "mail", noon);
  CHECK(shown(way_proofs(club(), proofs, links, noon)).starts_with("robin/mail asks proven; "));
  CHECK(kept.size() == 3);
  const WallTime later = noon + Span::of_days(46);
  CHECK(shown(way_proofs(club(), proofs, links, later))
            .starts_with("robin/mail asks proven overdue; robin/text proven overdue; "));
  CHECK(shown(way_proofs(club(), proofs, {true, true}, noon))
            .starts_with("robin/mail asks proven; robin/text asks overdue; "));
  Settings without = club();
  without.call_lists[0].prove_every.reset();
  CHECK(shown(way_proofs(without, ProofBook(nullptr), links, noon)).find("overdue") ==
        std::string::npos);
}

TEST_CASE("drill book: closes when everybody has answered, or after a day") {
  DrillBook book;
  book.begin({7, noon, "elm", "kim", "robin sam", "", false});
  CHECK(book.all_open() == std::vector<OutageId>{7});
  CHECK_FALSE(book.answered(7, "joe"));
  CHECK_FALSE(book.answered(8, "robin"));
  CHECK(book.answered(7, "robin")->answered == "robin");
  CHECK(book.answered(7, "robin")->answered == "robin");
  CHECK(book.open(7) != nullptr);
  CHECK(book.answered(7, "sam")->closed);
  CHECK(book.open(7) == nullptr);
  book.begin({9, noon + Span::of_h(1), "elm", "kim", "robin sam", "", false});
  CHECK(book.take_expired(noon + Span::of_h(24)).empty());
  CHECK(book.take_expired(noon + Span::of_h(25)).size() == 1);
  CHECK(book.last_by("kim") == noon + Span::of_h(1));
  CHECK_FALSE(book.last_by("call list everyday"));
  CHECK(book.newest()->outage == 9);
}
