#include <catch2/catch.hpp>

#include "errors/bug.hpp"
#include "errors/user_error.hpp"

using namespace frostcal::errors;

TEST_CASE("a fault names place, found, expected and remedy", "[errors]") {
  const Fault fault{
      {"grids/shop.toml", 12, 9, "power_pct"}, "\"12,5\"", "a number from 1 to 100", "write 12.5"};
  CHECK(to_text(fault) ==
        "grids/shop.toml:12:9: power_pct: found \"12,5\", expected a number from 1 to 100; write 12.5");
}

TEST_CASE("unknown parts of a fault are left out", "[errors]") {
  CHECK(to_text({{"a.csv", 0, 0, ""}, "", "", "write a header row"}) == "a.csv: write a header row");
  CHECK(to_text({{"a.csv", 3, 0, "frost"}, "7", "0 to 5", ""}) == "a.csv:3: frost: found 7, expected 0 to 5");
}

TEST_CASE("a list of faults shows twenty and counts the rest", "[errors]") {
  FaultList list;
  CHECK_NOTHROW(list.throw_if_any());
  for (int i = 0; i < 23; ++i) list.add({{"a.csv", i + 1, 0, ""}, "x", "y", ""});
  try {
    list.throw_if_any();
    FAIL("nothing thrown");
  } catch (const UserError& error) {
    const std::string text = error.what();
    CHECK(text.find("a.csv:20:") != std::string::npos);
    CHECK(text.find("a.csv:21:") == std::string::npos);
    CHECK(text.find("3 more faults") != std::string::npos);
  }
}

TEST_CASE("a fault of a whole column is kept once, with the first row's place", "[errors]") {
  FaultList list;
  const auto fault = [](int line, const std::string& field) {
    return Fault{{"a.csv", line, 4, field}, "\"1.2.2026\"", "a time", "as text"};
  };
  list.add(fault(2, "since"));
  list.add_to_column(fault(2, "recorded_at"));
  for (int line = 3; line < 6; ++line) list.add_to_column(fault(line, "recorded_at"));
  REQUIRE(list.faults().size() == 2);
  CHECK(list.count() == 5);
  CHECK(to_text(list.faults().back()) ==
        "a.csv:2:4: recorded_at: found \"1.2.2026\" (and 3 later rows like it), expected a time; as text");
}

TEST_CASE("quoted text hides control characters and stops after 60", "[errors]") {
  CHECK(quoted(std::string("a\0b", 3)) == "\"a\\x00b\"");
  CHECK(quoted(std::string(100, 'x')) == "\"" + std::string(60, 'x') + "...\"");
}

TEST_CASE("nearest accepts two slips, of a short word one, or the start of one name", "[errors]") {
  CHECK(nearest("powr_pct", {"power_pct", "speed_pct"}) == "power_pct");
  CHECK(nearest("gird", {"grid", "glass"}) == "grid");  // neighbours swapped
  CHECK(nearest("tabel", {"table", "fit"}) == "table");
  CHECK(nearest("foo", {"fit", "log", "job"}).empty());
  CHECK(nearest("SPEED_PTC", {"speed_pct"}) == "speed_pct");
  CHECK(nearest("amber", {"clear", "green"}).empty());
  CHECK(nearest("x", {"yz"}).empty());
  CHECK(nearest("amber", {"clear-cruet", "amber-jug"}) == "amber-jug");  // the start of one
  CHECK(nearest("amber", {"amber-flask", "amber-jug"}).empty());         // of several
  CHECK(nearest("", {"amber-jug"}).empty());
}
