#include "grades/cured_file.hpp"

#include <catch2/catch.hpp>

#include "support/memory_file_system.hpp"
#include "support/sample_grid.hpp"

using namespace frostcal;
using namespace frostcal::grades;

namespace {

CuredFault dirty_lens() {
  CuredFault fault;
  fault.machine = "bench";
  fault.cure = "=lens, cleaned";
  fault.since = "2026-11-03T00:00:00Z";
  fault.by = "Ann";
  fault.recorded_at = "2026-11-05T11:14:05Z";
  return fault;
}

const std::string kHeader = "machine,cure,since,by,recorded_at,format\n";
const std::string kRow = "bench,\"'=lens, cleaned\",2026-11-03T00:00:00Z,Ann,2026-11-05T11:14:05Z,1\n";

std::string faults_of(const std::string& text) {
  errors::FaultList faults;
  parse_cured(text, "c.csv", faults);
  std::string all;
  for (const errors::Fault& fault : faults.faults()) all += to_text(fault) + '\n';
  return all;
}

}  // namespace

TEST_CASE("cured faults are written and read back", "[grades][cured_file]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  const shop::Shop shop = test::sample_shop("/shop");
  CHECK(read_cured(shop, disk).empty());
  append_cured(shop, dirty_lens(), disk);
  append_cured(shop, dirty_lens(), disk);
  CHECK(disk.contents("/shop/results/cured-faults.csv") == kHeader + kRow + kRow);
  const std::vector<CuredFault> read = read_cured(shop, disk);
  REQUIRE(read.size() == 2);
  CHECK(read[1].machine == "bench");
  CHECK(read[1].cure == "=lens, cleaned");
  CHECK(read[1].since == "2026-11-03T00:00:00Z");
  CHECK(read[1].by == "Ann");
  CHECK(read[1].recorded_at == "2026-11-05T11:14:05Z");
  CHECK(read[1].line == 3);
}

TEST_CASE("a torn last row of cured faults is left out, and cut off by the next", "[grades][cured_file]") {
  const shop::Shop shop = test::sample_shop("/shop");
  for (std::size_t length = 1; length < kRow.size(); ++length) {
    test::MemoryFileSystem disk;
    disk.put("/shop/.lock", "");
    disk.put("/shop/results/cured-faults.csv", kHeader + kRow + kRow.substr(0, length));
    CAPTURE(length);
    // Whole but for its format or its line end it is kept: the format is 1 where it is not said.
    const bool whole = length >= kRow.size() - 3;
    CHECK(read_cured(shop, disk).size() == (whole ? 2 : 1));
    append_cured(shop, dirty_lens(), disk);
    CHECK(read_cured(shop, disk).size() == (whole ? 3 : 2));
  }
}

TEST_CASE("cured faults are read as spreadsheets save them", "[grades][cured_file]") {
  errors::FaultList faults;
  const std::vector<CuredFault> read = parse_cured(
      "\xEF\xBB\xBFrecorded_at;since;by;Machine;cure;ours\r\n"
      "2026-11-05T11:14:05Z;2026-11-05T11:14:05Z;Ann;bench;lens cleaned;x\r\n",
      "c.csv", faults);
  CHECK(faults.empty());
  REQUIRE(read.size() == 1);
  CHECK(read[0].machine == "bench");
  CHECK(read[0].cure == "lens cleaned");
}

TEST_CASE("every fault of cured-faults.csv is named", "[grades][cured_file]") {
  CHECK(faults_of(kHeader + ",,yesterday,,2026-13-05T11:14:05Z,\n") ==
        "c.csv:2:1: machine: found an empty cell, expected a machine\n"
        "c.csv:2:2: cure: found an empty cell, expected what cured the fault\n"
        "c.csv:2:3: since: found \"yesterday\", expected a time such as 2026-11-25T11:14:05Z\n"
        "c.csv:2:13: by: found an empty cell, expected who recorded it\n"
        "c.csv:2:14: recorded_at: found \"2026-13-05T11:14:05Z\", expected a time such as "
        "2026-11-25T11:14:05Z\n");
  CHECK(faults_of(kHeader + "bench,lens,2026-11-06T00:00:00Z,Ann,2026-11-05T11:14:05Z,1\n") ==
        "c.csv:2:12: since: found 2026-11-06T00:00:00Z, after recorded_at, expected a time up to "
        "2026-11-05T11:14:05Z; a fault begins before it is cured\n");
  CHECK(faults_of("machine,until,format\nbench,2026-11-06T00:00:00Z,2\n") ==
        "c.csv:2:28: format: found format 2, expected format 1; a newer frostcal wrote this row; use that "
        "one\n");
}
