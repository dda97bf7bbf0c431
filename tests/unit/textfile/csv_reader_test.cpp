#include "textfile/csv_reader.hpp"

#include <catch2/catch.hpp>

using namespace frostcal;
using namespace frostcal::textfile;

namespace {

const CsvColumns kColumns{{"swatch", "frost", "chipping"}, {"note"}};

struct Result {
  CsvTable table;
  errors::FaultList faults;
  std::string text() const {
    std::string all;
    for (const auto& row : table.rows) {
      for (std::size_t i = 0; i < 4; ++i) all += row.cell(i).text + (i < 3 ? "|" : "/");
    }
    return all;
  }
  std::string fault() const { return faults.empty() ? "" : to_text(faults.faults().front()); }
};

Result read(const std::string& text, const CsvColumns& columns = kColumns) {
  Result result;
  result.table = read_csv(text, "g.csv", columns, result.faults);
  return result;
}

}  // namespace

TEST_CASE("the same table in every dress a spreadsheet gives it", "[textfile][csv_reader]") {
  const std::string plain = "A1|4|0|/B7|5|1|ok/";
  for (const std::string text : {
           "swatch,frost,chipping,note\nA1,4,0,\nB7,5,1,ok\n",
           "swatch,frost,chipping,note\r\nA1,4,0,\r\nB7,5,1,ok\r\n",
           "swatch,frost,chipping,note\rA1,4,0,\rB7,5,1,ok\r",
           "\xEF\xBB\xBFswatch;frost;chipping;note\r\nA1;4;0;\r\nB7;5;1;ok\r\n",
           "\xEF\xBB\xBF\"swatch\",\"frost\",\"chipping\",\"note\"\n\"A1\",\"4\",\"0\",\"\"\n\"B7\",\"5\","
           "\"1\",\"ok\"\n",
           "swatch\tfrost\tchipping\tnote\nA1\t4\t0\t\nB7\t5\t1\tok\n",
           "sep=;\nswatch;frost;chipping;note\nA1;4;0;\nB7;5;1;ok\n",
           "\xEF\xBB\xBFsep=;\r\nswatch;frost;chipping;note\r\nA1;4;0;\r\nB7;5;1;ok\r\n",
           "Frost,Note,SWATCH,chipping,power_pct\n4,,A1,0,60\n5,ok,B7,1,70\n",
           "\n\nswatch,frost,chipping,note\n\nA1,4,0,\n\n,,,\nB7,5,1,ok\n\n\n",
           "swatch,frost,chipping,note,,\nA1,4,0,,,\nB7,5,1,ok,,\n,,,,,\n",
           "swatch , frost , chipping , note\nA1 , 4 , 0 , \n B7,5,1,ok",
       }) {
    INFO(text);
    const Result result = read(text);
    CHECK(result.fault() == "");
    CHECK(result.text() == plain);
  }
  CHECK(read("swatch,frost,chipping\nA1,4,0\n").text() == "A1|4|0|/");
  CHECK(read("swatch,frost,chipping,note\nA1,4,0,\n").table.has_optional == std::vector<bool>{true});
  CHECK(read("swatch,frost,chipping\n").table.has_optional == std::vector<bool>{false});
}

TEST_CASE("a file that two copies disagree about has one fault", "[textfile][csv_reader]") {
  // Marks as in gitformat: git-merge(1), "How conflicts are presented".
  const std::string header = "swatch,frost,chipping,note\n";
  for (const std::string mark : {"<<<<<<< HEAD", "||||||| 1a2b3c4", "=======", ">>>>>>> theirs, I think"}) {
    CAPTURE(mark);
    const Result result = read(header + "A1,4,0,\n" + mark + "\nB7,9\n");
    CHECK(result.fault().find("g.csv:3: found \"" + mark + "\", which marks a merge") == 0);
    CHECK(result.faults.faults().size() == 1);
    CHECK(result.table.rows.empty());
    CHECK(read("\xEF\xBB\xBF" + mark + "\r\n" + header).fault().find("g.csv:1: found \"" + mark) == 0);
  }
  for (const std::string other :
       {"<<<<<< HEAD", "<<<<<<<<", "======= ", "=======;", "<<<<<<<HEAD", "-------"}) {
    CAPTURE(other);
    CHECK(read(header + "A1,4,0,\n" + other + "\n").fault().find("which marks a merge") == std::string::npos);
  }
}

TEST_CASE("cells know their line, column and name", "[textfile][csv_reader]") {
  const Result result =
      read("\xEF\xBB\xBFswatch;frost;chipping;note\r\n\r\nA1;4;0;\"two\r\nlines\"\r\nB7;\xC3\xBC;1;x\r\n");
  REQUIRE(result.table.rows.size() == 2);
  const CsvRow& last = result.table.rows[1];
  CHECK(last.line() == 5);
  CHECK(last.cell(2).place.line == 5);
  CHECK(last.cell(2).place.column == 6);
  CHECK(last.cell(2).place.field == "chipping");
  CHECK(result.table.rows[0].cell(3).place.line == 3);
  CHECK(result.table.rows[0].cell(3).place.column == 8);
  CHECK(result.table.rows[0].cell(3).text == "two\r\nlines");
}

TEST_CASE("a file that is no table is refused with its reason", "[textfile][csv_reader]") {
  CHECK(read("").fault() ==
        "g.csv: found an empty file, expected a header row with the columns swatch, frost, chipping");
  CHECK(read("\xEF\xBB\xBF\r\n").fault() == read("").fault());
  CHECK(read("swatch,frost,chipping\n").fault() == "");
  CHECK(read("swatch,frost,chipping\n").table.rows.empty());
  CHECK(read(std::string("swatch,frost,chipping\nA1,\0,0\n", 29)).fault() ==
        "g.csv:2:4: found a NUL byte, expected plain text; the file is damaged or not text; restore it from "
        "a copy");
  CHECK(
      read("swatch,frost,chipping,note\nA1,4,0,gr\xFCn\n").fault() ==
      "g.csv:2:10: found the byte 0xFC that is not UTF-8, expected UTF-8 text; save the file again with the "
      "character set UTF-8 (Unicode)");
  CHECK(read("\xFF\xFEs\0w\0").fault() ==
        "g.csv: found UTF-16 text, expected UTF-8 text; save the file again as UTF-8");
  CHECK(read("swatch,frost,chipping\n" + std::string(70000, 'x') + "\n").fault() ==
        "g.csv:2: found a line of 70000 bytes, expected at most 65536 bytes in a line; check that this is "
        "the right "
        "file");
  CHECK(read("swatch,frst,chipping\nA1,4,0\n").fault() ==
        "g.csv:1: frost: found no such column in the header, expected the columns swatch, frost, chipping; "
        "is it the "
        "one called \"frst\"?");
  CHECK(read("swatch,frost,chipping,frost\nA1,4,0,3\n").fault() ==
        "g.csv:1:23: frost: found the column a second time, expected it once; remove or rename one of them");
  CHECK(read("swatch,frost;x,chipping;y,swatch;frost;chipping\n").fault() != "");
}

TEST_CASE("broken quotes and ragged rows are named", "[textfile][csv_reader]") {
  CHECK(read("swatch,frost,chipping\nA1,\"4\"x,0\n").fault() ==
        "g.csv:2:4: found a quotation mark inside a cell, expected a cell that is quoted as a whole, with "
        "its own "
        "quotation marks doubled; write \"\" for each \" inside");
  CHECK(read("swatch,frost,chipping\nA1,4,\"0\nB1,3,0\n").fault() ==
        "g.csv:2:6: found a quotation mark that is never closed, expected a closing quotation mark; the file "
        "may "
        "have been cut short");
  const Result ragged = read("swatch,frost,chipping\nA1,4\nB1,3,0\nC1,3,0,9\nD1,3,0,\n");
  REQUIRE(ragged.faults.faults().size() == 2);
  CHECK(to_text(ragged.faults.faults()[0]) == "g.csv:2: found 2 cells, expected 3, as in the header");
  CHECK(ragged.faults.faults()[1].place.line == 4);
  CHECK(ragged.text() == "B1|3|0|/D1|3|0|/");
}

TEST_CASE("a last row without its line end may be torn", "[textfile][csv_reader]") {
  const Result torn = read("swatch,frost,chipping\nA1,4,0\nB1,3");
  CHECK(torn.fault() == "");
  REQUIRE(torn.table.torn_last_row);
  CHECK(torn.table.torn_last_row->line == 3);
  CHECK(torn.text() == "A1|4|0|/");
  const Result whole = read("swatch,frost,chipping\nA1,4,0\nB1,3,0");
  CHECK_FALSE(whole.table.torn_last_row);
  CHECK_FALSE(whole.table.ends_with_line_end);
}

TEST_CASE("number cells name what was wrong", "[textfile][csv_reader]") {
  const auto fault_of = [](const std::string& text, NumberRange range, bool whole) {
    errors::FaultList faults;
    const CsvCell cell{text, {"g.csv", 2, 4, "x"}};
    if (whole) {
      CHECK_FALSE(read_integer_cell(cell, range, faults));
    } else {
      CHECK_FALSE(read_number_cell(cell, range, faults));
    }
    return to_text(faults.faults().front());
  };
  CHECK(fault_of("7", {0, 5}, true) == "g.csv:2:4: x: found \"7\", expected a whole number from 0 to 5");
  CHECK(fault_of("four", {0, 5}, true) ==
        "g.csv:2:4: x: found \"four\", expected a whole number from 0 to 5; write a number in digits");
  CHECK(fault_of("4.5", {0, 5}, true) == "g.csv:2:4: x: found \"4.5\", expected a whole number from 0 to 5");
  CHECK(fault_of("nan", {0, 5}, false) ==
        "g.csv:2:4: x: found \"nan\", expected a number from 0 to 5; write a finite number");
  CHECK(fault_of("125", {0.01, 1}, false) ==
        "g.csv:2:4: x: found \"125\", expected a number from 0.01 to 1; looks as if a spreadsheet read "
        "0.1250 as "
        "thousands");
  CHECK(fault_of("4000", {0, 5}, true) ==
        "g.csv:2:4: x: found \"4000\", expected a whole number from 0 to 5; looks as if a spreadsheet read 4 "
        "as "
        "thousands");
  CHECK(fault_of("0.06", {5, 100}, false) ==
        "g.csv:2:4: x: found \"0.06\", expected a number from 5 to 100; looks as if a spreadsheet divided 60 "
        "by a "
        "thousand");
  errors::FaultList faults;
  CHECK(read_integer_cell({"4.0", {}}, {0, 5}, faults) == 4);
  CHECK(read_number_cell({"12,5", {}}, {0, 100}, faults) == 12.5);
  CHECK(faults.empty());
}

TEST_CASE("a format that is not known is the only fault", "[textfile][csv_reader]") {
  CsvColumns columns = kColumns;
  columns.format = 2;
  const std::string header = "swatch,frost,chipping,note,format\n";
  CHECK(read(header + "A1,4,0,,1\nA2,4,0,,2\nA3,4,0,,\nA4,4,0,\n", columns).fault() == "");
  CHECK(read(header + "A1,4,0,,1\nA2,4,0,,2.0\n", columns).fault() == "");  // as a spreadsheet may write it
  const std::string fault =
      "format: found format 3, expected format 2; a newer frostcal wrote this row; use that one";
  for (const std::string& text :
       {header + "A1,4,0,,3\nA2,4\n", std::string("swatch,whiteness,Format\n\"A1\",4,3\nA2,\"broken,3\n"),
        std::string("swatch;frost;chipping;format\nA1;4;0;1\nA2;4;0;3\n")}) {
    INFO(text);
    const Result result = read(text, columns);
    CHECK(result.table.rows.empty());
    CHECK(result.table.header.empty());
    REQUIRE(result.faults.faults().size() == 1);
    CHECK_THAT(result.fault(), Catch::Matchers::EndsWith(fault));
  }
  CHECK_THAT(read(header + "A1,4,0,,0\n", columns).fault(),
             Catch::Matchers::EndsWith("found \"0\", expected format 2"));
  // Readers of files that have no format take the column for somebody's own.
  CHECK(read(header + "A1,4,0,,mine\n").fault() == "");
  CHECK(read(header + "A1,4,0,\n").fault() != "");
}
