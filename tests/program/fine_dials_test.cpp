// Dials whose steps have more than two decimals: every file means the same setting.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>

#include "design/grid_file.hpp"
#include "support/grades_by_dose.hpp"
#include "support/in_process.hpp"
#include "support/sample_shop.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using nlohmann::json;
namespace fs = std::filesystem;

namespace {

// A shop without grids whose power and speed have this range.
class FineShop : public test::SampleShop {
 public:
  explicit FineShop(const std::string& range) {
    fs::remove_all(folder() / "grids" / grid().id);
    std::string text = shop::shop_template();
    for (const std::string dial : {"power_pct = ", "speed_pct = "}) {
      const std::string usual = dial + "{ min = 5, max = 100, step = 1 }";
      REQUIRE(text.find(usual) != std::string::npos);
      text.replace(text.find(usual), usual.size(), dial + range);
    }
    std::ofstream(shop::shop_file(folder())) << text;
  }

  test::Outcome run(const std::vector<std::string>& words) const {
    const test::Outcome outcome = run_in_process(*this, words);
    INFO(words.front() << '\n' << outcome.out << outcome.err);
    CHECK(outcome.status < 2);
    return outcome;
  }

  design::Grid planned(const std::string& id) const {
    return design::read_grid(shop::read_shop(folder()), id);
  }

  void grade(const design::Grid& grid) const {
    const fs::path file = folder() / "in.csv";
    std::ofstream(file) << test::grades_by_dose(grid, shop().machines.front());
    CHECK(run({"grade", std::to_string(grid.number), "--from", file.string(), "--grader", "Ann"}).status ==
          0);
  }

  void adopt(const std::vector<std::string>& dials = {}) const {
    std::vector<std::string> words{"table", "adopt", "amber-jug", "--by", "Ann", "--reason", "first"};
    words.insert(words.end(), dials.begin(), dials.end());
    CHECK(run(words).status == 0);
  }

  std::string renewed() const {
    return run({"table", "adopt", "amber-jug", "--in-force", "--by", "Ann", "--reason", "again"}).out;
  }
};

}  // namespace

TEST_CASE("pieces at a setting of three decimals are pieces at it", "[program][fine_dials]") {
  const FineShop shop("{ min = 5, max = 100, step = 0.125 }");
  shop.adopt({"--power", "8.125", "--speed", "16", "--dpi", "400"});
  shop.run({"log", "amber-jug", "--good", "--by", "Ann", "--pieces", "6"});
  const fs::path pieces = shop.folder() / "results" / "pieces.csv";
  std::string text = test::read_text(pieces);
  CHECK_THAT(text, Contains("amber-jug,bench,8.1250,16.00,400,"));
  // As version 0.1.0 kept them until then.
  for (std::size_t at = 0; (at = text.find("8.1250", at)) != std::string::npos;) text.replace(at, 6, "8.12");
  std::ofstream(pieces) << text;
  CHECK_THAT(shop.run({"log", "amber-jug", "--good", "--by", "Ann"}).out, !Contains("worse"));
  CHECK(json::parse(shop.run({"log", "amber-jug", "--good", "--by", "Ann", "--json"}).out).at("pieces") == 8);
  CHECK_THAT(shop.renewed(), Contains("8 logged pieces, 8 at this setting"));
}

TEST_CASE("a dial of 255 steps is the same in every file", "[program][fine_dials]") {
  const FineShop shop("{ min = 4.7058823529, max = 100, step = 0.3921568627 }");
  CHECK(shop.run({"plan", "amber-jug", "--reference", "--swatches", "12"}).status == 0);
  const design::Grid first = shop.planned("0001-amber-jug");
  const auto reference_of = [](const design::Grid& grid) {
    for (const design::Swatch& swatch : grid.swatches) {
      if (swatch.role == design::Role::reference) return swatch.setting;
    }
    return shop::Setting{};
  };
  REQUIRE(reference_of(first).power_pct > 0);
  shop.grade(first);
  shop.adopt();
  CHECK_THAT(shop.run({"job", "amber-jug", "--art", "60x40"}).out, Contains("% power"));
  CHECK_THAT(shop.renewed(), Contains("% power"));
  CHECK(shop.run({"table", "card", (shop.folder() / "wall.pdf").string()}).status == 0);
  const test::Outcome check = shop.run({"check"});
  CAPTURE(check.out, check.err);
  CHECK(check.status == 0);
  CHECK_THAT(check.out + check.err, !Contains("doubt") && !Contains("swatches.csv"));

  // A person types what the run sheet says; the row keeps what the machine takes.
  CHECK_THAT(shop.run({"log", "amber-jug", "--good", "--by", "Ann", "--power", "40.39", "--speed", "16.08",
                       "--dpi", "300"})
                 .out,
             Contains("at 40.3922 % power, 16.0784 % speed, 300 dpi"));

  CHECK(shop.run({"plan", "amber-jug", "--reference", "--swatches", "12"}).status == 0);
  const design::Grid second = shop.planned("0002-amber-jug");
  std::vector<std::string> repeated;
  for (const design::Swatch& swatch : first.swatches) {
    if (shop::same_setting(swatch.setting, reference_of(second))) repeated.push_back(swatch.id);
  }
  CHECK_FALSE(repeated.empty());  // an earlier swatch, not the middle of the ranges anew
}
