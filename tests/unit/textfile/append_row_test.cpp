#include "textfile/append_row.hpp"

#include <catch2/catch.hpp>
#include <cerrno>

#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "support/memory_file_system.hpp"
#include "textfile/csv_reader.hpp"

using namespace frostcal;
using namespace frostcal::textfile;
using test::MemoryFileSystem;
using test::PowerCut;

namespace {

bool is_time(std::string_view text) {
  return text.size() == 5 && text[2] == ':';
}

const AppendedFile kFile{"/shop", "/shop/results/0001-a.csv", {"swatch", "note", "at"}, is_time};
const std::string kPath = "/shop/results/0001-a.csv";
const std::string kHeader = "swatch,note,at\n";

MemoryFileSystem empty_shop() {
  MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  return disk;
}

std::vector<std::string> row(int number) {
  return {"A" + std::to_string(number), "a,b", "12:00"};
}
std::string line(int number) {
  return "A" + std::to_string(number) + ",\"a,b\",12:00\n";
}

}  // namespace

TEST_CASE("rows are written in the order that survives a power cut", "[textfile][append_row]") {
  MemoryFileSystem disk = empty_shop();
  append_rows(kFile, {row(1)}, disk);
  append_rows(kFile, {row(2), row(3)}, disk);
  CHECK(disk.contents(kPath) == kHeader + line(1) + line(2) + line(3));
  const auto last = [&](const std::string& call) {
    return std::find(disk.calls.rbegin(), disk.calls.rend(), call) - disk.calls.rbegin();
  };
  CHECK(last("sync_contents 0001-a.csv") < last("write 0001-a.csv"));
  CHECK(std::count(disk.calls.begin(), disk.calls.end(), "write 0001-a.csv") == 2);  // one write per call
}

TEST_CASE("whichever call fails, the rows are all there or not at all", "[textfile][append_row]") {
  const bool existing = GENERATE(false, true);
  const bool for_good = GENERATE(false, true);
  const auto [fault, error] = GENERATE(
      std::pair{MemoryFileSystem::Fault::error, ENOSPC}, std::pair{MemoryFileSystem::Fault::error, EIO},
      std::pair{MemoryFileSystem::Fault::error, EINTR}, std::pair{MemoryFileSystem::Fault::short_write, 0});
  if (for_good && error == EINTR) return;  // a signal that never ends would be waited for
  for (int nth = 1; nth < 200; ++nth) {
    MemoryFileSystem disk = empty_shop();
    const std::string before = existing ? kHeader + line(1) : "";
    if (existing) disk.put(kPath, before);
    disk.fail(nth, fault, error, for_good);
    bool thrown = false;
    try {
      append_rows(kFile, {row(2), row(3)}, disk);
    } catch (const errors::SystemError& refused) {
      thrown = true;
      INFO(refused.what());
      CHECK(refused.error_number() == error);
      CHECK(std::string(refused.what()).rfind("/shop", 0) == 0);
    }
    const bool reached = disk.fault_was_reached();
    const std::string after = (existing ? before : kHeader) + line(2) + line(3);
    INFO("call " << nth << ", error " << error);
    const std::string now = disk.contents(kPath);
    // When every call fails from here on, even cutting back fails; then the next append mends it.
    const bool unmendable = for_good && thrown;
    const bool whole = now == before || now == after || (!existing && now == "(missing)");
    if (!unmendable) CHECK(whole);
    if (!thrown) CHECK(now == after);
    disk.fail(0, MemoryFileSystem::Fault::error);
    append_rows(kFile, {row(4)}, disk);
    const std::string last = disk.contents(kPath);
    const bool mended = last == (existing ? before : kHeader) + line(4) || last == after + line(4);
    INFO(last);
    CHECK(mended);
    if (!reached) break;
  }
}

TEST_CASE("a full disk leaves the file as it was", "[textfile][append_row]") {
  for (std::size_t room = 0; room < 40; ++room) {
    MemoryFileSystem disk = empty_shop();
    disk.put("/shop/.lock", "4242\n");
    disk.put(kPath, kHeader + line(1));
    disk.set_capacity(5 + kHeader.size() + line(1).size() + room);
    try {
      append_rows(kFile, {row(2)}, disk);
      CHECK(room >= line(2).size());
      CHECK(disk.contents(kPath) == kHeader + line(1) + line(2));
    } catch (const errors::SystemError& refused) {
      CHECK(room < line(2).size());
      CHECK(disk.contents(kPath) == kHeader + line(1));
      CHECK(std::string(refused.what()) ==
            "/shop/results/0001-a.csv: cannot add a row: No space left on device; free some space and do it "
            "again; nothing was added");
    }
  }
}

TEST_CASE("a torn last row is cut off, a whole one is kept, at every length", "[textfile][append_row]") {
  const std::string full = kHeader + line(1) + line(2);
  for (std::size_t length = 0; length <= full.size(); ++length) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, full.substr(0, length));
    INFO("cut after " << length << " bytes");
    std::string kept = kHeader;
    // A row lacking nothing but its line end is whole.
    if (length + 1 >= kHeader.size() + line(1).size()) kept += line(1);
    if (length + 1 >= full.size()) kept += line(2);
    const AppendedText read = read_appended(kFile, disk).value();
    CHECK(disk.contents(kPath) == full.substr(0, length));
    const TailRepair mended = append_rows(kFile, {row(9)}, disk);
    CHECK(disk.contents(kPath) == kept + line(9));
    CHECK((read.text.empty() ? kHeader : read.text + (read.text.back() == '\n' ? "" : "\n")) == kept);
    const TailRepair foreseen = read.tail.value_or(TailRepair{});
    CHECK(foreseen.dropped == mended.dropped);
    CHECK(foreseen.line_end_added == mended.line_end_added);
  }
}

TEST_CASE("a row with line breaks and quotation marks in a cell is cut off whole, at every length",
          "[textfile][append_row]") {
  const std::string rows[] = {"A1,\"one\ntwo, \"\"so\"\"\",12:00\n", "A2,\"a\r\nb\n\n\",12:00\n"};
  const std::string full = kHeader + rows[0] + rows[1];
  for (std::size_t length = kHeader.size(); length <= full.size(); ++length) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, full.substr(0, length));
    INFO("cut after " << length << " bytes");
    std::string kept = kHeader;
    if (length + 1 >= kHeader.size() + rows[0].size()) kept += rows[0];
    if (length + 1 >= full.size()) kept += rows[1];
    const AppendedText read = read_appended(kFile, disk).value();
    CHECK(read.text + (read.text.back() == '\n' ? "" : "\n") == kept);
    append_rows(kFile, {row(9)}, disk);
    CHECK(disk.contents(kPath) == kept + line(9));
  }
}

TEST_CASE("where a quotation mark is missing above whole rows, none of them is cut off",
          "[textfile][append_row]") {
  const std::string preamble = GENERATE("", "sep=,\r\n");
  const std::string last = GENERATE("A2,,12:00\n", "A2,,12:00");
  MemoryFileSystem disk = empty_shop();
  const std::string damaged = preamble + kHeader + line(0) + "A1,\"a,12:00\n" + last;
  disk.put(kPath, damaged);
  CHECK_FALSE(read_appended(kFile, disk)->tail);
  append_rows(kFile, {}, disk);
  CHECK(disk.contents(kPath) == damaged);  // the reader then says where
}

TEST_CASE("acknowledged rows survive a power cut at any call", "[textfile][append_row]") {
  std::mt19937 random(4);
  int cuts = 0;
  for (int nth = 1; nth < 400; ++nth) {
    bool finished = false;
    for (int round = 0; round < 25; ++round) {
      MemoryFileSystem disk = empty_shop();
      disk.fail(nth, MemoryFileSystem::Fault::power_cut);
      int acknowledged = 0;
      finished = false;
      try {
        for (int i = 1; i <= 4; ++i) {
          append_rows(kFile, {row(i)}, disk);
          acknowledged = i;
        }
        finished = true;
      } catch (const PowerCut&) {
        ++cuts;
      }
      disk.crash(random);
      append_rows(kFile, {row(9)}, disk);
      const std::string now = disk.contents(kPath);
      std::string least = kHeader;
      for (int i = 1; i <= acknowledged; ++i) least += line(i);
      INFO("call " << nth << ", acknowledged " << acknowledged << ":\n" << now);
      const bool sound = now == least + line(9) || now == least + line(acknowledged + 1) + line(9);
      CHECK(sound);
    }
    if (finished) break;
  }
  CHECK(cuts > 500);
}

TEST_CASE("a row that no reader would take is a fault of ours, and nothing is written",
          "[textfile][append_row]") {
  for (const std::string& note : {std::string("f\xfcr"), std::string("a\0b", 3), std::string(66000, 'x')}) {
    MemoryFileSystem disk = empty_shop();
    CHECK_THROWS_AS(append_rows(kFile, {{"A1", note, "12:00"}}, disk), errors::Bug);
    CHECK_FALSE(disk.has(kPath));
  }
}

TEST_CASE("a file that a spreadsheet saved is continued in its own form", "[textfile][append_row]") {
  MemoryFileSystem disk = empty_shop();
  disk.put(kPath,
           "\xEF\xBB\xBF"
           "At;Swatch;mine;Note\r\n12:00;A1;x;ok\r\n");
  append_rows(kFile, {{"B7", "a;b", "13:00"}}, disk);
  CHECK(disk.contents(kPath) ==
        "\xEF\xBB\xBF"
        "At;Swatch;mine;Note\r\n12:00;A1;x;ok\r\n13:00;B7;;\"a;b\"\n");
  disk.put(kPath, "swatch,remark,at\nA1,ok,12:00\n");
  CHECK_THROWS_AS(append_rows(kFile, {row(1)}, disk), errors::UserError);
  CHECK(disk.contents(kPath) == "swatch,remark,at\nA1,ok,12:00\n");
}

namespace {

// The same file a version later.
const AppendedFile kNewer{kFile.root, kFile.path, {"swatch", "note", "at", "width", "height"}, is_time, 2};

}  // namespace

TEST_CASE("an older file gets newer columns when a row first fills them", "[textfile][append_row]") {
  MemoryFileSystem disk = empty_shop();
  SECTION("as this program wrote it") {
    disk.put(kPath, kHeader + line(1));
    append_rows(kNewer, {{"A2", "", "12:00", "", ""}}, disk);
    CHECK(disk.contents(kPath) == kHeader + line(1) + "A2,,12:00\n");
    append_rows(kNewer, {{"A3", "", "12:00", "1.00", "2.00"}}, disk);
    CHECK(disk.contents(kPath) == "swatch,note,at,width,height\n" + line(1).substr(0, line(1).size() - 1) +
                                      ",,\nA2,,12:00,,\nA3,,12:00,1.00,2.00\n");
  }
  SECTION("as a spreadsheet saved it: preamble, CRLF, semicolons, own columns, line ends in quotes") {
    disk.put(kPath,
             "\xEF\xBB\xBFsep=;\r\nat;mine;Swatch;note\r\n12:00;x;A1;\"two\r\nlines; \"\"so\"\"\"\r\n\r\n");
    append_rows(kNewer, {{"A2", "", "12:00", "1.00", "2.00"}}, disk);
    CHECK(disk.contents(kPath) ==
          "\xEF\xBB\xBFsep=;\r\nat;mine;Swatch;note;width;height\r\n12:00;x;A1;\"two\r\nlines; "
          "\"\"so\"\"\";;\r\n\r\n12:00;;A2;;1.00;2.00\n");
  }
  SECTION("with a separator line in capitals, as the reader takes it too") {
    disk.put(kPath, "SEP=;\nswatch;note;at\nA1;;12:00\n");
    append_rows(kNewer, {{"A2", "", "12:00", "1.00", "2.00"}}, disk);
    CHECK(disk.contents(kPath) == "SEP=;\nswatch;note;at;width;height\nA1;;12:00;;\nA2;;12:00;1.00;2.00\n");
  }
  SECTION("with a torn last row") {
    disk.put(kPath, kHeader + line(1) + "A2,,12");
    CHECK(append_rows(kNewer, {{"A3", "", "12:00", "1.00", "2.00"}}, disk).dropped.empty());
    CHECK(disk.contents(kPath) == "swatch,note,at,width,height\n" + line(1).substr(0, line(1).size() - 1) +
                                      ",,\nA3,,12:00,1.00,2.00\n");
  }
  SECTION("whole, but for its last line end") {
    disk.put(kPath, kHeader + line(1).substr(0, line(1).size() - 1));
    append_rows(kNewer, {{"A3", "", "12:00", "1.00", "2.00"}}, disk);
    CHECK(disk.contents(kPath) == "swatch,note,at,width,height\n" + line(1).substr(0, line(1).size() - 1) +
                                      ",,\nA3,,12:00,1.00,2.00\n");
  }
}

TEST_CASE("a row cut within its newer cells is not taken for a whole one", "[textfile][append_row]") {
  const std::string before = "swatch,note,at,width,height\nA1,,12:00,,\n";
  const std::string cut = "A2,,12:00,1.00,23.00";
  for (std::size_t length = 1; length <= cut.size(); ++length) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, before + cut.substr(0, length));
    const TailRepair repair = append_rows(kNewer, {{"A3", "", "12:00", "", ""}}, disk);
    const bool whole = length == cut.size();
    CAPTURE(length);
    CHECK(repair.line_end_added == whole);
    CHECK(disk.contents(kPath) == before + (whole ? cut + '\n' : "") + "A3,,12:00,,\n");
  }
  MemoryFileSystem disk = empty_shop();
  disk.put(kPath, before + "A2,,12:00,,");
  CHECK(append_rows(kNewer, {{"A3", "", "12:00", "", ""}}, disk).line_end_added);
}

namespace {

const AppendedFile kFormatted{kFile.root, kFile.path, kFile.columns, is_time, 0, 3};
const std::string kFormattedHeader = "swatch,note,at,format\n";

std::string formatted(int number) {
  std::string text = line(number);
  text.insert(text.size() - 1, ",3");
  return text;
}

}  // namespace

TEST_CASE("a row that ends in its format is whole, whatever decimals a spreadsheet left it",
          "[textfile][append_row]") {
  const AppendedFile file{kNewer.root, kNewer.path, kNewer.columns, is_time, kNewer.newer_columns, 3};
  const std::string before = "swatch,note,at,width,height,format\nA1,,12:00,,,3\n";
  const auto kept = [&](const std::string& last) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, before + last);
    const TailRepair repair = append_rows(file, {{"A3", "", "12:00", "", ""}}, disk);
    CHECK(repair.line_end_added == repair.dropped.empty());
    CHECK(disk.contents(kPath) == before + (repair.dropped.empty() ? last + '\n' : "") + "A3,,12:00,,,3\n");
    return repair.dropped.empty();
  };
  CHECK(kept("A2,,12:00,40,30,3"));
  CHECK(kept("A2,,12:00,40,30.5,3"));
  CHECK(kept("A2,,12:00,40.00,30.00"));
  CHECK_FALSE(kept("A2,,12:00,40,30"));  // perhaps of 30.00, perhaps of 300
  CHECK_FALSE(kept("A2,,12:00,40,30,"));
  // Where the columns stand in another order, the format says nothing of what is behind it.
  MemoryFileSystem disk = empty_shop();
  disk.put(kPath, "swatch,note,at,format,width,height\nA1,,12:00,3,,\nA2,,12:00,3,40,30");
  CHECK(append_rows(file, {{"A3", "", "12:00", "", ""}}, disk).dropped == "A2,,12:00,3,40,30");
}

TEST_CASE("rows say their format; a file without the column goes on without it", "[textfile][append_row]") {
  MemoryFileSystem disk = empty_shop();
  append_rows(kFormatted, {row(1)}, disk);
  append_rows(kFormatted, {row(2)}, disk);
  CHECK(disk.contents(kPath) == kFormattedHeader + formatted(1) + formatted(2));
  CHECK(written_columns(kFormatted) == std::vector<std::string>{"swatch", "note", "at", "format"});
  disk.put(kPath, kHeader + line(1));
  append_rows(kFormatted, {row(2)}, disk);
  CHECK(disk.contents(kPath) == kHeader + line(1) + line(2));
  disk.put(kPath, "FORMAT;at;swatch;note\n2;12:00;A1;x\n");  // an older format, a spreadsheet's order
  append_rows(kFormatted, {row(2)}, disk);
  CHECK(disk.contents(kPath) == "FORMAT;at;swatch;note\n2;12:00;A1;x\n3;12:00;A2;\"a,b\"\n");
}

TEST_CASE("nothing is appended to, or cut off, a file of a newer format", "[textfile][append_row]") {
  for (const std::string& newer :
       {kFormattedHeader + formatted(1) + "A2,x,12:00,4\n", kFormattedHeader + "A2,x,12:00,4\nA3,y,12:0",
        std::string("swatch,remark,when,format\nA1,x,12:00,4\n")}) {
    INFO(newer);
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, newer);
    for (const auto& rows : {std::vector<std::vector<std::string>>{row(2)}, {}}) {
      CHECK_THROWS_WITH(
          append_rows(kFormatted, rows, disk),
          Catch::Matchers::Contains("format: found format 4, expected format 3; a newer frostcal"));
      CHECK(disk.contents(kPath) == newer);
    }
  }
}

TEST_CASE("a row with a format is whole with its time", "[textfile][append_row]") {
  const std::string full = kFormattedHeader + formatted(1) + formatted(2);
  const std::size_t spare = std::string(",3\n").size();
  for (std::size_t length = 0; length <= full.size(); ++length) {
    MemoryFileSystem disk = empty_shop();
    disk.put(kPath, full.substr(0, length));
    INFO("cut after " << length << " bytes");
    append_rows(kFormatted, {row(9)}, disk);
    errors::FaultList faults;
    const CsvTable table = read_csv(disk.contents(kPath), "a.csv", {kFile.columns, {}, 3}, faults);
    CHECK(faults.empty());
    std::size_t expected = 1;
    if (length + spare >= kFormattedHeader.size() + formatted(1).size()) ++expected;
    if (length + spare >= full.size()) ++expected;
    CHECK(table.rows.size() == expected);
    for (const CsvRow& read : table.rows) CHECK(read.cell(2).text == "12:00");
  }
}
