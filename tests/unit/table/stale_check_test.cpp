#include "table/stale_check.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "numerics/random_engine.hpp"
#include "unit/table/sample_row.hpp"

using namespace frostcal;
using namespace frostcal::table;

namespace {

// Share of runs of `length` pieces that raise an alarm, and the median length of those that do.
struct Simulated {
  double alarms = 0;
  int median_delay = 0;
};

Simulated simulate(double promised, double chance, int length, int runs, std::uint64_t seed) {
  numerics::RandomEngine random(seed);
  std::vector<int> delays;
  for (int run = 0; run < runs; ++run) {
    std::vector<bool> good;
    for (int i = 0; i < length; ++i) good.push_back(random.uniform() < chance);
    const StaleCheck check = check_pieces(promised, good);
    if (check.alarm) delays.push_back(check.alarm_at);
  }
  std::sort(delays.begin(), delays.end());
  return {static_cast<double>(delays.size()) / runs, delays.empty() ? 0 : delays[delays.size() / 2]};
}

grades::PieceRow piece(int frost, int chipping) {
  grades::PieceRow row;
  row.glass = "amber-jug";
  row.machine = "bench";
  row.setting = test::sample_row().row.setting;
  row.frost = frost;
  row.chipping = chipping;
  row.by = "Ann";
  row.logged_at = "2026-12-01T08:00:00Z";
  return row;
}

}  // namespace

TEST_CASE("the sums of the test are likelihood ratios, by hand", "[table]") {
  // Promise 0.90: r0 = 0.1, odds 1/9, three times that 1/3, so r1 = 0.25. Twenty times: 20/9, so r1 = 20/29.
  const double up = std::log(0.25 / 0.1) / 4.5;
  const double down = std::log(0.75 / 0.9) / 4.5;
  CHECK(std::abs(check_pieces(0.9, {false}).level - std::log(200.0 / 29) / 7) < 1e-12);
  CHECK(std::abs(check_pieces(0.9, {false, true}).level - (up + down)) < 1e-12);
  CHECK(check_pieces(0.9, {true, true}).level == 0);
  const StaleCheck five = check_pieces(0.9, {false, false, false, false, false, false});
  CHECK(five.alarm);
  CHECK(five.alarm_at == 4);  // 4 * 1.931 = 7.72 is over 7, 4 * 0.916 = 3.67 not yet over 4.5
  CHECK(std::abs(five.level - 4 * std::log(200.0 / 29) / 7) < 1e-12);
  CHECK(five.pieces == 6);  // what was logged is told in full
  CHECK(five.rejects == 6);
}

// Published nowhere: measured here. 4,000 runs of 100 pieces, so the standard error of 0.05 is 0.0034; the
// bounds allow three of them.
TEST_CASE("a true promise is seldom called stale within 100 pieces", "[table][simulation]") {
  struct Promise {
    double chance;
    double most;  // share of false alarms
  };
  for (const Promise promise : {Promise{0.98, 0.01}, {0.95, 0.03}, {0.90, 0.05}, {0.80, 0.09}}) {
    const Simulated run = simulate(promise.chance, promise.chance, 100, 4000, 11);
    CAPTURE(promise.chance, run.alarms);
    CHECK(run.alarms < promise.most + 3 * std::sqrt(promise.most * (1 - promise.most) / 4000));
  }
}

// A promise is itself the mean of a belief. Here the belief is Beta(36, 4), 90 % interval 0.81 to 0.96, and
// the truth is drawn from it: more rows raise an alarm, nearly all because their truth is under the promise.
TEST_CASE("where a promise is uncertain, alarms fall on the chances that are under it",
          "[table][simulation]") {
  numerics::RandomEngine random(15);
  constexpr int kRuns = 4000;
  int alarms = 0;
  int groundless = 0;
  for (int run = 0; run < kRuns; ++run) {
    std::vector<double> uniform(39);  // the 36th of 39 in order is Beta(36, 4)
    for (double& one : uniform) one = random.uniform();
    std::nth_element(uniform.begin(), uniform.begin() + 35, uniform.end());
    const double chance = uniform[35];
    std::vector<bool> good;
    for (int i = 0; i < 100; ++i) good.push_back(random.uniform() < chance);
    if (!check_pieces(0.90, good).alarm) continue;
    ++alarms;
    groundless += chance >= 0.90;
  }
  const double share = static_cast<double>(alarms) / kRuns;
  CAPTURE(share, groundless);
  CHECK(share > 0.09);  // measured 0.132, standard error 0.005
  CHECK(share < 0.15);
  CHECK(groundless < 0.01 * kRuns + 3 * std::sqrt(0.01 * 0.99 * kRuns));  // measured 0.007
}

// Delays for a chance that falls from the promise to where the odds of a reject are three times as high, and
// further. Medians, in pieces.
TEST_CASE("a broken promise is noticed", "[table][simulation]") {
  const Simulated threefold = simulate(0.90, 0.75, 200, 2000, 12);
  CAPTURE(threefold.alarms, threefold.median_delay);
  CHECK(threefold.alarms > 0.98);
  CHECK(threefold.median_delay < 45);
  const Simulated half = simulate(0.90, 0.50, 200, 2000, 13);
  CAPTURE(half.median_delay);
  CHECK(half.alarms > 0.99);
  CHECK(half.median_delay < 14);
  const Simulated from_high = simulate(0.98, 0.80, 200, 2000, 14);
  CAPTURE(from_high.median_delay);
  CHECK(from_high.alarms > 0.99);
  CHECK(from_high.median_delay < 30);
  const Simulated broken = simulate(0.98, 0, 20, 10, 16);
  CHECK(broken.alarms == 1);
  CHECK(broken.median_delay == 3);
}

TEST_CASE("good or not is the shop's bar; what was not looked at can't be good", "[table]") {
  const shop::Acceptance bar;  // frost 4, chipping 0
  CHECK(is_good(piece(4, 0), bar) == true);
  CHECK(is_good(piece(5, 1), bar) == false);
  CHECK(is_good(piece(3, 0), bar) == false);
  grades::PieceRow half = piece(4, 0);
  half.chipping.reset();
  CHECK_FALSE(is_good(half, bar));
  half.frost = 2;
  CHECK(is_good(half, bar) == false);

  grades::PieceRow called_good = piece(4, 0);
  called_good.frost = grades::GradeRange(4, 5);
  CHECK(is_good(called_good, bar) == true);
  shop::Acceptance raised = bar;
  raised.frost = 5;
  CHECK_FALSE(is_good(called_good, raised));  // 4 or 5: nobody knows
  called_good.chipping = grades::GradeRange(0, 1);
  CHECK_FALSE(is_good(called_good, bar));
  called_good.chipping = 2;
  CHECK(is_good(called_good, bar) == false);
}

TEST_CASE("only pieces at the setting in force, since it was adopted, count", "[table]") {
  const shop::Acceptance bar;
  std::vector<HistoryRow> history{test::sample_row()};
  std::vector<grades::PieceRow> pieces(6, piece(2, 0));
  CHECK(check_in_force(history, pieces, "amber-jug", "bench", bar).alarm);

  auto other = pieces;
  for (auto& one : other) one.setting.power_pct += 1;
  CHECK(check_in_force(history, other, "amber-jug", "bench", bar).pieces == 0);
  auto earlier = pieces;
  for (auto& one : earlier) one.logged_at = "2026-11-01T08:00:00Z";
  CHECK(check_in_force(history, earlier, "amber-jug", "bench", bar).pieces == 0);
  CHECK(check_in_force(history, pieces, "amber-jug", "barn", bar).pieces == 0);

  const StaleCheck check = check_in_force(history, pieces, "amber-jug", "bench", bar);
  history.push_back(stale_row(history.back().row, check, {"Ann", "", "2026-12-01T09:00:00Z", "0.1.0"}));
  CHECK(history.back().row.status == Status::stale);
  CHECK(history.back().row.reason == "6 of 6 pieces rejected, a chance of 0.93 was promised");
  CHECK(history.back().row.chance == history.front().row.chance);
  CHECK(check_in_force(history, pieces, "amber-jug", "bench", bar).pieces == 0);  // told once

  const SettingsRow& stale = history.back().row;
  CHECK(check_after(pieces, stale, bar).pieces == 0);  // those that raised the alarm
  for (auto& one : pieces) one.logged_at = stale.adopted_at;
  CHECK(check_after(pieces, stale, bar).pieces == 0);
  for (auto& one : pieces) one.logged_at = "2026-12-01T09:00:01Z";
  CHECK(check_after(pieces, stale, bar).pieces == 6);
  CHECK(check_after(pieces, stale, bar).rejects == 6);
}

// By our own contract: a batch is logged by two commands, the good ones and the rejects, in whatever order.
TEST_CASE("pieces logged in one go have no order", "[table]") {
  const shop::Acceptance bar;
  const std::vector<HistoryRow> history{test::sample_row()};
  std::vector<grades::PieceRow> good(26, piece(4, 0));
  for (auto& one : good) one.logged_at = "2026-12-02T10:00:00Z";
  const auto with_rejects = [&](const std::string& at, bool first) {
    std::vector<grades::PieceRow> all = good;
    for (int i = 0; i < 4; ++i) {
      grades::PieceRow reject = piece(2, 0);
      reject.logged_at = at;
      all.insert(first ? all.begin() : all.end(), reject);
    }
    return check_in_force(history, all, "amber-jug", "bench", bar);
  };
  const StaleCheck after = with_rejects("2026-12-02T10:00:40Z", false);
  const StaleCheck before = with_rejects("2026-12-02T09:59:20Z", true);
  CHECK_FALSE(after.alarm);
  CHECK_FALSE(before.alarm);
  CHECK(after.level == before.level);
  CHECK(after.rejects == 4);
  CHECK(with_rejects("2026-12-02T10:20:00Z", false).alarm);  // a run of its own
}

TEST_CASE("a promise that is renewed as it was goes on being tested", "[table]") {
  const shop::Acceptance bar;
  std::vector<HistoryRow> history{test::sample_row()};
  std::vector<grades::PieceRow> pieces(3, piece(2, 0));
  for (auto& one : pieces) one.logged_at = "2026-12-02T10:00:00Z";
  history.push_back(history.front());
  history.back().row.adopted_at = "2026-12-03T10:00:00Z";
  CHECK(check_in_force(history, pieces, "amber-jug", "bench", bar).rejects == 3);
  history.back().row.chance += 0.02;
  CHECK(check_in_force(history, pieces, "amber-jug", "bench", bar).pieces == 0);
}

TEST_CASE("pieces come out worse from the first reject of the run", "[table]") {
  CHECK(check_pieces(0.93, {true, true}).began_at == 0);
  CHECK(check_pieces(0.93, {true, false}).began_at == 2);
  // One reject, paid off by many good pieces, is not part of the run.
  std::vector<bool> good{true, false};
  good.insert(good.end(), 60, true);
  CHECK(check_pieces(0.93, good).began_at == 0);
  good.insert(good.end(), {false, true, false, false, false, false});
  const StaleCheck check = check_pieces(0.93, good);
  CHECK(check.alarm);
  CHECK(check.began_at == 63);
  good.insert(good.end(), 200, true);
  CHECK(check_pieces(0.93, good).began_at == 63);  // what came after the alarm does not move it
}

TEST_CASE("a setting that several logs found stale is one finding, of the first", "[table]") {
  const shop::Acceptance bar;
  TableRecord record;
  record.history.push_back(test::sample_row());
  std::vector<grades::PieceRow> pieces(6, piece(2, 0));
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    pieces[i].logged_at = "2026-12-03T08:0" + std::to_string(i) + ":00Z";
  }
  record.logged = grades::sort_pieces(pieces, {});
  const StaleCheck check = check_in_force(record.history, record.logged.counted, "amber-jug", "bench", bar);
  REQUIRE(check.alarm);
  const SettingsRow promised = record.history.front().row;
  for (const char* minute : {"3", "4", "5"}) {
    record.history.push_back(
        stale_row(promised, check, {"Ann", "", std::string("2026-12-03T08:0") + minute + ":00Z", "0.1.0"}));
  }
  const auto finding = stale_finding(record.history, record.history.back().row);
  REQUIRE(finding);
  CHECK(finding->promised.adopted_at == promised.adopted_at);
  CHECK(finding->found_at == "2026-12-03T08:03:00Z");
  CHECK(worse_since(record, "amber-jug", "bench", bar) == std::optional<std::string>("2026-12-03T08:00:00Z"));
}

TEST_CASE("a stale row is excused by a cured fault that explains it", "[table]") {
  const shop::Acceptance bar;
  TableRecord record;
  record.history.push_back(test::sample_row());
  std::vector<grades::PieceRow> pieces;
  const auto log = [&](const std::string& day, int frost, int count) {
    for (int i = 0; i < count; ++i) {
      pieces.push_back(piece(frost, 0));
      pieces.back().logged_at = day + "T08:00:0" + std::to_string(i) + "Z";
    }
  };
  log("2026-12-01", 5, 5);
  log("2026-12-03", 2, 6);
  record.logged = grades::sort_pieces(pieces, {});
  const auto began = [&] { return worse_since(record, "amber-jug", "bench", bar); };
  REQUIRE(began());
  CHECK(*began() == "2026-12-03T08:00:00Z");
  const StaleCheck check = check_in_force(record.history, record.logged.counted, "amber-jug", "bench", bar);
  REQUIRE(check.alarm);
  record.history.push_back(
      stale_row(record.history.back().row, check, {"Ann", "", "2026-12-03T08:00:05Z", "0.1.0"}));
  REQUIRE(began());
  CHECK(*began() == "2026-12-03T08:00:00Z");

  const SettingsRow stale = record.history.back().row;
  const auto excused = [&](const std::string& machine, const std::string& since) {
    record.logged =
        grades::sort_pieces(pieces, {{machine, "lens cleaned", since, "Ann", "2026-12-04T08:00:00Z", 2}});
    return excuse(record, stale, bar).has_value();
  };
  CHECK_FALSE(excuse(record, stale, bar));
  CHECK(excused("bench", "2026-12-03T00:00:00Z"));
  CHECK(check_after(record.logged.counted, stale, bar).pieces == 0);
  CHECK_FALSE(excused("barn", "2026-12-03T00:00:00Z"));
  CHECK_FALSE(excused("bench", "2026-12-03T08:00:05Z"));  // five rejects are left, too many
  CHECK_FALSE(excused("bench", "2026-12-03T08:00:06Z"));  // it was found before
  log("2026-12-05", 5, 9);
  CHECK(excused("bench", "2026-12-03T00:00:00Z"));
  log("2026-12-06", 2, 6);  // the cure was none
  CHECK_FALSE(excused("bench", "2026-12-03T00:00:00Z"));
}
