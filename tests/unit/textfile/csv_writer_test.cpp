#include "textfile/csv_writer.hpp"

#include <catch2/catch.hpp>

#include "textfile/csv_reader.hpp"

using namespace frostcal;
using namespace frostcal::textfile;

TEST_CASE("cells are quoted only where needed", "[textfile][csv_writer]") {
  CHECK(csv_line({"B7", "4", "", "12.50"}) == "B7,4,,12.50\n");
  CHECK(csv_line({"a,b", "a;b", "say \"x\"", "two\nlines", " blank", "tab\there"}) ==
        "\"a,b\",\"a;b\",\"say \"\"x\"\"\",\"two\nlines\",\" blank\",\"tab\there\"\n");
  CHECK(csv_line({""}) == "\"\"\n");
  CHECK(csv_line({"a", "b"}, ';') == "a;b\n");
}

TEST_CASE("free text keeps no formula and comes back as it was", "[textfile][csv_writer]") {
  for (const std::string text :
       {"=1+1", "+5", "-x", "@a", "'quoted", "'=x", "''", "plain", "", "'", "\tx", "\rx"}) {
    INFO(text);
    const std::string safe = guarded(text);
    if (!safe.empty()) CHECK(std::string("=+-@\t\r").find(safe[0]) == std::string::npos);
    CHECK(unguarded(safe) == text);
    errors::FaultList faults;
    const CsvTable table = read_csv("a,b\n" + csv_line({"1", safe}), "x.csv", {{"a", "b"}, {}}, faults);
    CHECK(faults.empty());
    REQUIRE(table.rows.size() == 1);
    CHECK(unguarded(table.rows[0].cell(1).text) == text);
  }
  CHECK(guarded("a\x01z") == "a z");
}
