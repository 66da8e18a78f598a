#include "notifiers/gsm_modem/sms_pdu.h"

#include <doctest/doctest.h>

#include "text/gsm7.h"
#include "text/rfc3339.h"

using namespace ebbwatch;

namespace {

std::string repeated(std::string_view text, int count) {
  std::string out;
  for (int i = 0; i < count; ++i) out += text;
  return out;
}

ReceivedText received(std::string_view hex) {
  auto text = read_deliver(hex);
  REQUIRE_MESSAGE(text.ok(), text.error().text);
  return text.value();
}

// The same text as its receiver's centre would hand it on: SMS-DELIVER from +15550123.
std::string as_deliver(const SubmitPdu& submit) {
  const bool joined = submit.hex.substr(2, 2) == "51";
  // After SMSC, first octet, reference, length, type, four octets of number, PID: the coding.
  const std::string coding = submit.hex.substr(20, 2), rest = submit.hex.substr(24);
  return std::string("00") + (joined ? "44" : "04") + "08915155103200" + coding + "62117151324500" +
         rest;
}

}  // namespace

// Written by Kannel 1.4.5 (smsc = at) for these texts; read on the wire.
TEST_CASE("sms pdu: submits are those of another program") {
  struct Example {
    const char *text, *hex;
    std::size_t octets;
  };
  for (const Example& example :
       {Example{"hellohello", "0011000891515510320000A70AE8329BFD4697D9EC37", 21},
        Example{"Tank A: no contact 12 min",
                "0011000891515510320000A719D4B07B0D0AEA40EE3768FC76D3C3633A282603B5D36E", 34},
        Example{"{[€]} Großes", "0011000891515510320000A7111BD486B7296F7C9B14E8287F7BCA73", 27},
        Example{
            "Бак 1: нет связи",
            "0011000891515510320008A72004110430043A00200031003A0020043D04350442002004410432044F04"
            "370438",
            44}}) {
    CAPTURE(example.text);
    const auto parts = submit_pdus("+15550123", example.text, 0);
    REQUIRE(parts.size() == 1);
    CHECK(parts[0].hex == example.hex);
    CHECK(parts[0].octets == example.octets);
  }
  const auto joined = submit_pdus("+15550123", repeated("a", 161), 0);
  REQUIRE(joined.size() == 2);
  CHECK(joined[0].hex.find("0051000891515510320000A7A0050003000201C2E170") == 0);
  CHECK(joined[0].octets == 152);
  CHECK(joined[1].hex == "0051000891515510320000A70F050003000202C2E170381C0E8701");
  CHECK(joined[1].octets == 26);
}

// "hellohello" from 27838890001 through +27381000015, 29 March 1999 in the original: the worked
// example that most descriptions of the PDU format repeat (first by L. Pettersson, dreamfabric).
TEST_CASE("sms pdu: the worked example of a delivered text") {
  const auto text =
      received("07917283010010F5040BC87238880900F10000993092516195800AE8329BFD4697D9EC37");
  CHECK(text.from == "27838890001");
  CHECK(text.text == "hellohello");
  CHECK(to_rfc3339(text.sent_at) == "2099-03-29T13:16:59.000Z");  // 15:16:59 at two hours east.
  CHECK(text.parts == 1);
}

// From public test suites of SMS libraries.
TEST_CASE("sms pdu: delivered texts of other examples") {
  const auto first =
      received("07911326040000F0040B911346610089F60000208062917314080CC8F71D14969741F977FD07");
  CHECK(first.from == "+31641600986");
  CHECK(first.text == "How are you?");
  CHECK(to_rfc3339(first.sent_at) == "2002-08-26T19:37:41.000Z");
  const auto second = received(
      "0791227167830001040C912271271640910008906012024514001C002E004020AC00A300680065006C006C006F00"
      "20"
      "00E900EC006B00F0");
  CHECK(second.from == "+221772610419");
  CHECK(second.text == ".@€£hello éìkð");
}

TEST_CASE("sms pdu: what is sent comes out again, piece by piece") {
  const std::string fish = "\U0001F41F";
  for (const std::string& text :
       {std::string("OK 4271"), std::string(""), repeated("a", 160), repeated("a", 161),
        repeated("a", 306), repeated("a", 307), repeated("a", 158) + "€", repeated("a", 159) + "€",
        repeated("a", 152) + "€" + repeated("a", 152), repeated("Ж", 70), repeated("Ж", 71),
        repeated("Ж", 134), repeated("Ж", 135), repeated(fish, 35), repeated(fish, 36),
        std::string("26 °C"), std::string("`")}) {
    CAPTURE(text);
    const auto parts = submit_pdus("+15550123", text, 42);
    REQUIRE(parts.size() == segments(text)->count);  // Check values of text/gsm7.
    std::string put_together;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      CHECK(parts[i].octets == parts[i].hex.size() / 2 - 1);
      const auto piece = received(as_deliver(parts[i]));
      CHECK(piece.from == "+15550123");
      CHECK(piece.part == i + 1);
      CHECK(piece.parts == parts.size());
      put_together += piece.text;
    }
    CHECK(put_together == text);
  }
}

TEST_CASE("sms pdu: a text without end is cut after four pieces") {
  CHECK(submit_pdus("+15550123", repeated("a", 2000), 1).size() == submit_parts_max);
}

TEST_CASE("sms pdu: an odd number of digits, and a name as the sender") {
  CHECK(submit_pdus("+1555012", "x", 0)[0].hex.find("00110007915155"
                                                    "10F200") == 0);
  // "Pier 7" as an alphanumeric sender: 42 bits are 11 half octets.
  const auto text = received(
      "00040BD0D074590EBA010000621171513245"
      "0002"
      "CF25");
  CHECK(text.from == "Pier 7");
  CHECK(text.text == "OK");
}

TEST_CASE("sms pdu: what is no delivered text is refused, however it is cut") {
  const std::string whole =
      "07917283010010F5040BC87238880900F10000993092516195800AE8329BFD4697D9EC37";
  for (std::size_t length = 0; length < whole.size(); ++length) {
    CAPTURE(length);
    CHECK_FALSE(read_deliver(whole.substr(0, length)).ok());
  }
  CHECK_FALSE(read_deliver("0011000891515510320000A70AE8329BFD4697D9EC37").ok());  // A submit.
  CHECK_FALSE(read_deliver("zz").ok());
  CHECK(read_deliver("00040891515510320004621171513245000141").error().text ==
        "8-bit data is no text");
  CHECK_FALSE(read_deliver("0044089151551032000062117151324500"
                           "0A"
                           "FF00")
                  .ok());
}

TEST_CASE("sms pdu: UCS-2 in hexadecimal both ways") {
  CHECK(ucs2_hex("+1") == "002B0031");
  CHECK(ucs2_hex("\U0001F41F") == "D83DDC1F");
  CHECK(from_ucs2_hex("D83DDC1F0041").value() ==
        "\U0001F41F"
        "A");
  CHECK_FALSE(from_ucs2_hex("004").ok());
  CHECK(from_ucs2_hex("D83D0041").value() ==
        "\uFFFD"
        "A");
}
