// Two people at one shop: what one command derived from a row is not written over what another one changed
// meanwhile.
#include <poll.h>
#include <sys/inotify.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <memory>
#include <optional>
#include <thread>

#include "grades/piece_file.hpp"
#include "support/grades_by_dose.hpp"
#include "support/in_process.hpp"
#include "support/program.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"
#include "table/settings_history.hpp"
#include "table/settings_table.hpp"
#include "textfile/file_lock.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
namespace fs = std::filesystem;

namespace {

// A shop with a provisional setting in force, and what its history would be had Bo then changed it.
class SharedShop : public test::SampleShop {
 public:
  explicit SharedShop(const std::vector<std::string>& change) {
    std::string text = shop::shop_template();
    const std::string target = "chance = 0.90";
    text.replace(text.find(target), target.size(), "chance = 0.80");
    std::ofstream(shop::shop_file(folder())) << text;
    const fs::path file = folder() / "in.csv";
    std::ofstream(file) << test::grades_by_dose(grid(), shop().machines.front());
    REQUIRE(run({"grade", "1", "--from", file.string(), "--grader", "Ann"}).status == 0);
    REQUIRE(run({"table", "adopt", "amber-jug", "--by", "Ann"}).status == 0);
    const std::string history = test::read_text(history_file());
    const std::string table = test::read_text(table_file());
    REQUIRE(run(change).status == 0);
    changed_ = test::read_text(history_file());
    std::ofstream(history_file()) << history;
    std::ofstream(table_file()) << table;
  }

  test::Outcome run(const std::vector<std::string>& words) const { return run_in_process(*this, words); }

  // Bo's change, under the lock.
  void change() const { std::ofstream(history_file()) << changed_; }

  std::vector<table::HistoryRow> history() const { return table::read_history(shop()); }
  std::size_t pieces() const { return grades::read_pieces(shop()).size(); }

 private:
  fs::path history_file() const { return folder() / "results" / "settings-history.csv"; }
  fs::path table_file() const { return folder() / "results" / "settings-table.csv"; }

  std::string changed_;
};

// Holds the shop's lock, and sees when another program wants it.
class HeldLock {
 public:
  explicit HeldLock(const SharedShop& shop) : lock_(std::in_place, shop.folder()), watch_(inotify_init()) {
    REQUIRE(watch_ >= 0);
    REQUIRE(inotify_add_watch(watch_, (shop.folder() / ".lock").c_str(), IN_OPEN) >= 0);
  }
  ~HeldLock() { ::close(watch_); }
  HeldLock(const HeldLock&) = delete;
  HeldLock& operator=(const HeldLock&) = delete;

  void wait_until_wanted() const {
    pollfd waiting{watch_, POLLIN, 0};
    REQUIRE(::poll(&waiting, 1, 60000) == 1);
  }
  void let_go() { lock_.reset(); }

 private:
  std::optional<textfile::FileLock> lock_;
  int watch_;
};

const std::vector<std::string> kNewLens{"table", "adopt", "amber-jug", "--power", "40",       "--speed", "30",
                                        "--dpi", "300",   "--by",      "Bo",      "--reason", "new lens"};
const std::vector<std::string> kNone{"table", "restore", "amber-jug", "--none", "--by", "Bo"};

}  // namespace

TEST_CASE("table adopt does not write over what was changed while it was fitting", "[program][two_writers]") {
  const SharedShop shop(kNewLens);
  const auto words =
      GENERATE(std::vector<std::string>{"--in-force"}, std::vector<std::string>{"--speed", "25"});
  std::vector<std::string> command{"table",  "adopt",       "amber-jug", "--by",           "Ann",
                                   "--shop", shop.option(), "--reason",  "slip in the log"};
  command.insert(command.end(), words.begin(), words.end());
  HeldLock lock(shop);
  test::Program adopt(command);
  lock.wait_until_wanted();  // it has fitted
  shop.change();
  lock.let_go();
  const test::Outcome outcome = adopt.finish();
  CAPTURE(outcome.out);
  CHECK(outcome.status == 1);
  CHECK(outcome.out == "");
  CHECK_THAT(outcome.err, Contains("Not adopted: while this was reckoned, Bo put 40 % power, 30 % speed") &&
                              Contains("Give the command again"));
  CHECK(shop.history().size() == 2);
  CHECK(shop.history().back().row.adopted_by == "Bo");
}

TEST_CASE("table restore does not write over what was changed at the same moment", "[program][two_writers]") {
  const SharedShop shop(kNewLens);
  HeldLock lock(shop);
  test::Program restore({"table", "restore", "amber-jug", "--none", "--by", "Ann", "--shop", shop.option()});
  lock.wait_until_wanted();
  shop.change();
  lock.let_go();
  const test::Outcome outcome = restore.finish();
  CHECK(outcome.status == 1);
  CHECK(outcome.out == "");
  CHECK_THAT(outcome.err, Contains("Nothing changed: at this moment Bo put 40 % power"));
  CHECK(shop.history().size() == 2);
}

TEST_CASE("log does not settle a setting that was replaced while it was fitting", "[program][two_writers]") {
  const SharedShop shop(GENERATE(kNewLens, kNone));
  const std::vector<std::string> log{"log",      "amber-jug", "--good", "--by",       "Ann",
                                     "--pieces", "24",        "--shop", shop.option()};
  HeldLock lock(shop);
  test::Program settling(log);
  lock.wait_until_wanted();  // to write its pieces
  lock.let_go();
  const auto last = std::chrono::steady_clock::now() + std::chrono::minutes(1);
  while (shop.pieces() < 24 && std::chrono::steady_clock::now() < last) {
    std::this_thread::sleep_for(std::chrono::microseconds(50));
  }
  std::this_thread::sleep_for(std::chrono::milliseconds(20));  // it reads the history and begins to fit
  {
    const textfile::FileLock own(shop.folder());
    shop.change();
  }
  const test::Outcome outcome = settling.finish();
  CAPTURE(outcome.err);
  CHECK(outcome.status == 0);
  CHECK_THAT(outcome.out, Contains("Logged 24 pieces") && Contains("is not settled: meanwhile Bo ") &&
                              !Contains("is settled now"));
  CHECK(shop.history().size() == 2);
  CHECK(shop.history().back().row.adopted_by == "Bo");
  CHECK(shop.pieces() == 24);
}

TEST_CASE("log judges its pieces by what is in force when they are written", "[program][two_writers]") {
  const SharedShop shop(kNewLens);
  HeldLock lock(shop);
  test::Program log({"log", "amber-jug", "--frost", "1", "--chipping", "3", "--by", "Ann", "--pieces", "24",
                     "--shop", shop.option()});
  lock.wait_until_wanted();
  shop.change();
  lock.let_go();
  const test::Outcome outcome = log.finish();
  CHECK(outcome.status == 0);
  CHECK_THAT(outcome.out, Contains("Meanwhile Bo put 40 % power") && !Contains("STALE"));
  CHECK(shop.history().size() == 2);
}

TEST_CASE("of several logs at once, one finds the setting stale", "[program][two_writers]") {
  const SharedShop shop(kNewLens);
  HeldLock lock(shop);
  std::vector<std::unique_ptr<test::Program>> logs;
  for (const char* by : {"Ann", "Bo", "Cy", "Di"}) {
    logs.push_back(std::make_unique<test::Program>(
        std::vector<std::string>{"log", "amber-jug", "--frost", "1", "--chipping", "3", "--by", by,
                                 "--pieces", "8", "--shop", shop.option()}));
  }
  lock.wait_until_wanted();
  std::this_thread::sleep_for(std::chrono::milliseconds(300));  // by all of them
  lock.let_go();
  int stale = 0;
  for (const auto& log : logs) {
    const test::Outcome outcome = log->finish();
    CAPTURE(outcome.out, outcome.err);
    CHECK(outcome.status == 0);
    const bool found = outcome.out.find("STALE: ") != std::string::npos;
    stale += found ? 1 : 0;
    CHECK((found || outcome.out.find("The setting in force is stale") != std::string::npos));
  }
  CHECK(stale == 1);
  REQUIRE(shop.history().size() == 2);
  CHECK(shop.history().back().action == table::Action::stale);
  CHECK(shop.pieces() == 32);
}
