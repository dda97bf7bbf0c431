#include "textfile/durable_write.hpp"

#include <catch2/catch.hpp>
#include <cerrno>
#include <fstream>

#include "errors/system_error.hpp"
#include "errors/user_error.hpp"
#include "support/memory_file_system.hpp"
#include "support/temporary_folder.hpp"
#include "textfile/file_lock.hpp"
#include "textfile/read_file.hpp"

using namespace frostcal;
using namespace frostcal::textfile;
using Catch::Matchers::Contains;
using test::MemoryFileSystem;
using test::PowerCut;

namespace {

const std::string kFile = "/shop/results/table.csv";

MemoryFileSystem shop_disk() {
  MemoryFileSystem disk;
  disk.put("/shop/.lock", "");
  disk.put(kFile, "old\n", 0640);
  return disk;
}

std::size_t position(const std::vector<std::string>& calls, const std::string& call) {
  return static_cast<std::size_t>(std::find(calls.begin(), calls.end(), call) - calls.begin());
}

}  // namespace

TEST_CASE("a file is replaced in the order that survives a power cut", "[textfile][durable_write]") {
  MemoryFileSystem disk = shop_disk();
  durable_write("/shop", kFile, "new\n", disk);
  CHECK(disk.contents(kFile) == "new\n");
  CHECK(disk.mode(kFile) == 0640);
  CHECK(disk.paths() == std::vector<std::string>{"/shop/.lock", kFile});
  const auto& calls = disk.calls;
  const std::size_t write = position(calls, "write .table.csv.tmp");
  const std::size_t sync = position(calls, "sync .table.csv.tmp");
  const std::size_t close = position(calls, "close .table.csv.tmp");
  const std::size_t rename = position(calls, "rename table.csv");
  const std::size_t folder = position(calls, "sync results");
  CHECK(position(calls, "lock .lock") < write);
  CHECK(write < sync);
  CHECK(sync < close);
  CHECK(close < rename);
  CHECK(rename < folder);
  CHECK(folder < calls.size());
}

TEST_CASE("whichever call fails, the file is whole and the message names it", "[textfile][durable_write]") {
  const bool new_folder = GENERATE(false, true);
  const auto [fault, error] = GENERATE(
      std::pair{MemoryFileSystem::Fault::error, ENOSPC}, std::pair{MemoryFileSystem::Fault::error, EIO},
      std::pair{MemoryFileSystem::Fault::error, EACCES}, std::pair{MemoryFileSystem::Fault::error, EINTR},
      std::pair{MemoryFileSystem::Fault::short_write, 0});
  int faults = 0;
  for (int nth = 1; nth < 200; ++nth) {
    MemoryFileSystem disk = shop_disk();
    const std::string file = new_folder ? "/shop/grids/0001-a/grid.toml" : kFile;
    const std::string old = new_folder ? "(missing)" : "old\n";
    disk.fail(nth, fault, error);
    bool thrown = false;
    try {
      durable_write("/shop", file, "new and longer\n", disk);
    } catch (const errors::SystemError& refused) {
      thrown = true;
      INFO(refused.what());
      CHECK(refused.error_number() == error);
      CHECK(std::string(refused.what()).rfind("/shop", 0) == 0);
    }
    INFO("call " << nth << ", error " << error);
    const std::string now = disk.contents(file);
    const bool whole = now == old || now == "new and longer\n";
    CHECK(whole);
    if (!thrown) CHECK(now == "new and longer\n");
    CHECK_FALSE(disk.has("/shop/results/.table.csv.tmp"));
    CHECK_FALSE(disk.has("/shop/grids/0001-a/.grid.toml.tmp"));
    const bool harmless = error == EINTR || fault == MemoryFileSystem::Fault::short_write;
    if (harmless) CHECK_FALSE(thrown);
    if (!disk.fault_was_reached()) break;
    ++faults;
  }
  CHECK(faults >= 1);
  if (error == EIO) CHECK(faults > 10);
}

TEST_CASE("a power cut at any call leaves the old file or the new", "[textfile][durable_write]") {
  std::mt19937 random(20261125);
  int cuts = 0;
  for (int nth = 1; nth < 200; ++nth) {
    bool finished = false;
    for (int round = 0; round < 40; ++round) {
      MemoryFileSystem disk = shop_disk();
      disk.fail(nth, MemoryFileSystem::Fault::power_cut);
      finished = false;
      try {
        durable_write("/shop", kFile, "new and longer\n", disk);
        finished = true;
      } catch (const PowerCut&) {
        ++cuts;
      }
      disk.crash(random);
      const std::string now = disk.contents(kFile);
      INFO("call " << nth << ": " << now);
      if (finished) {
        CHECK(now == "new and longer\n");
      } else {
        const bool whole = now == "old\n" || now == "new and longer\n";
        CHECK(whole);
      }
      durable_write("/shop", kFile, "after\n", disk);  // usable at once
      CHECK(disk.contents(kFile) == "after\n");
    }
    if (finished) break;
  }
  CHECK(cuts > 400);
}

TEST_CASE("refusals say what to do", "[textfile][durable_write]") {
  MemoryFileSystem disk = shop_disk();
  SECTION("read-only folder") {
    disk.make_read_only("/shop/results");
    CHECK_THROWS_WITH(
        durable_write("/shop", kFile, "new\n", disk),
        "/shop/results/table.csv: cannot write: Permission denied; the folder /shop/results must be "
        "writable");
    CHECK(disk.contents(kFile) == "old\n");
  }
  SECTION("full disk") {
    disk.set_capacity(20);
    CHECK_THROWS_WITH(
        durable_write("/shop", kFile, std::string(100, 'x'), disk),
        "/shop/results/table.csv: cannot write: No space left on device; free some space and do it "
        "again; the old file is unchanged");
    CHECK(disk.contents(kFile) == "old\n");
    CHECK_FALSE(disk.has("/shop/results/.table.csv.tmp"));
  }
  SECTION("the lock is held") {
    disk.put("/shop/.lock", "77\n");
    disk.take_lock_elsewhere("/shop/.lock");
    CHECK_THROWS_WITH(
        durable_write("/shop", kFile, "new\n", disk),
        Contains("/shop/.lock: cannot lock: ") && Contains("process 77 is writing in this shop"));
    CHECK(disk.waited_milliseconds >= kLockWaitMilliseconds);
  }
  SECTION("left-over temporary file") {
    disk.put("/shop/results/.table.csv.tmp", "half");
    durable_write("/shop", kFile, "new\n", disk);
    CHECK(disk.contents(kFile) == "new\n");
    CHECK_FALSE(disk.has("/shop/results/.table.csv.tmp"));
  }
}

TEST_CASE("links are followed inside the shop and never out of it", "[textfile][shop_path]") {
  MemoryFileSystem disk = shop_disk();
  disk.put("/elsewhere/secret.csv", "secret\n");
  disk.put("/shop/kept/table.csv", "kept\n");
  disk.put_link("/shop/results/inside.csv", "/shop/kept/table.csv");
  disk.put_link("/shop/results/outside.csv", "/elsewhere/secret.csv");
  disk.put_link("/shop/away", "/elsewhere");
  disk.put_link("/shop/results/nowhere.csv", "/elsewhere/missing.csv");

  durable_write("/shop", "/shop/results/inside.csv", "new\n", disk);
  CHECK(disk.contents("/shop/kept/table.csv") == "new\n");
  FileStatus status;
  REQUIRE(disk.link_status("/shop/results/inside.csv", status) == 0);
  CHECK(status.kind == FileKind::link);

  for (const std::string path : {"/shop/results/outside.csv", "/shop/away/secret.csv", "/shop/away/new.csv",
                                 "/shop/results/nowhere.csv", "/shop/../elsewhere/secret.csv"}) {
    INFO(path);
    CHECK_THROWS_AS(durable_write("/shop", path, "new\n", disk), errors::UserError);
    CHECK_THROWS_AS(read_file("/shop", path, kMaxCsvBytes, disk), errors::UserError);
  }
  CHECK(disk.contents("/elsewhere/secret.csv") == "secret\n");
  CHECK_FALSE(disk.has("/elsewhere/new.csv"));
  CHECK_FALSE(disk.has("/elsewhere/missing.csv"));
  CHECK(read_file({}, "/elsewhere/secret.csv", kMaxCsvBytes, disk) == "secret\n");
}

TEST_CASE("the real disk behaves as the model does", "[textfile][durable_write]") {
  namespace fs = std::filesystem;
  const test::TemporaryFolder folder;
  const fs::path file = folder.path() / "results" / "deep" / "table.csv";
  durable_write(folder.path(), file, "one\n");
  fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
  durable_write(folder.path(), file, "two\n");
  CHECK(read_file(folder.path(), file) == "two\n");
  CHECK(fs::status(file).permissions() == (fs::perms::owner_read | fs::perms::owner_write));
  fs::create_symlink("/etc/hostname", folder.path() / "results" / "out.csv");
  CHECK_THROWS_AS(durable_write(folder.path(), folder.path() / "results" / "out.csv", "x"),
                  errors::UserError);
  CHECK_THROWS_AS(read_file(folder.path(), folder.path()), errors::UserError);
  CHECK_THROWS_AS(read_file({}, "/dev/null"), errors::UserError);
  CHECK_THROWS_AS(read_file(folder.path(), folder.path() / "none.csv"), errors::SystemError);
  CHECK_THROWS_AS(read_file(folder.path(), file, 3), errors::UserError);
  const FileLock held(folder.path());
  CHECK_THROWS_WITH(FileLock(folder.path(), real_file_system(), 40), Contains("is writing in this shop"));
  std::size_t entries = 0;
  for ([[maybe_unused]] const auto& entry : fs::recursive_directory_iterator(folder.path())) ++entries;
  CHECK(entries == 5);  // .lock, results, deep, table.csv, out.csv
}

TEST_CASE("two programs that write one file outside a shop do not touch each other's half", "[textfile]") {
  MemoryFileSystem disk;
  disk.put("/out/list.csv", "old\n");
  disk.put("/out/.list.csv.77.tmp", "half of another's");
  disk.take_lock_elsewhere("/out/.list.csv.77.tmp");
  disk.put("/out/.list.csv.78.tmp", "");  // another one's that is not locked yet
  disk.put("/out/.list.csv.79.tmp", "left by a killed run");
  disk.put("/out/.list.csv.mine.tmp", "no file of ours");
  disk.put("/out/.list.csv.80.tmp.txt", "no file of ours");
  durable_write_anywhere("/out/list.csv", "new\n", disk);
  CHECK(disk.contents("/out/list.csv") == "new\n");
  CHECK(disk.contents("/out/.list.csv.77.tmp") == "half of another's");
  CHECK(disk.has("/out/.list.csv.78.tmp"));
  CHECK_FALSE(disk.has("/out/.list.csv.79.tmp"));
  CHECK(disk.has("/out/.list.csv.mine.tmp"));
  CHECK(disk.has("/out/.list.csv.80.tmp.txt"));
  CHECK_FALSE(disk.has("/out/.list.csv.4242.tmp"));  // its own
}
