// The longest names and words that shop.toml takes, on every sheet and card. By our own contract, no source.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>

#include "support/in_process.hpp"
#include "support/text_file.hpp"

using namespace frostcal;
using Catch::Matchers::Contains;
using test::run_in_process;
namespace fs = std::filesystem;

namespace {

void replace_in_shop(const test::SampleShop& sample, const std::string& old_part, const std::string& text) {
  const fs::path file = shop::shop_file(sample.folder());
  std::string toml = test::read_text(file);
  const std::size_t at = toml.find(old_part);
  REQUIRE(at != std::string::npos);
  test::write_text(file, toml.replace(at, old_part.size(), text));
}

std::string words(int count, const std::string& word) {
  std::string list;
  for (int i = 0; i < count; ++i) list += (i > 0 ? ", \"" : "\"") + word + '"';
  return "[" + list + "]";
}

}  // namespace

TEST_CASE("the longest texts of shop.toml fit every sheet and card", "[program][longest_text]") {
  const std::string letter = GENERATE("W", "\u00c4");
  const auto wide = [&](int count) {
    std::string text;
    for (int i = 0; i < count; ++i) text += letter;
    return text;
  };
  const test::SampleShop sample;
  const std::string name(40, 'W');
  const std::string machine(40, 'M');
  const std::string screen = wide(39) + "x";
  const fs::path file = shop::shop_file(sample.folder());
  test::write_text(
      file, "[shop]\nname = \"" + wide(60) + "\"\n[grades]\nfrost = " + words(6, wide(80)) +
                "\nchipping = " + words(4, wide(80)) + "\n[[machine]]\nname = \"" + machine +
                "\"\nrated_power_w = 60\ntop_speed_mm_s = 1200\nspot_mm = 0.1\ndpi = [200, 300, 600]\n"
                "power_pct = { min = 5, max = 100, step = 1 }\nspeed_pct = { min = 5, max = 100, step = 1 }\n"
                "tone_pct = { min = 90, max = 90, step = 10 }\nrecipes_per_burn = 1\nscreens = [\"" +
                screen + "\"]\n[[vessel]]\nname = \"" + std::string(40, 'V') +
                "\"\ndiameter_mm = { at_neck = 80, at_base = 88 }\npanel_mm = 95\nseams = 2\n[[glass]]\n"
                "name = \"" +
                name + "\"\ncolour = \"" + wide(40) + "\"\nvessel = \"" + std::string(40, 'V') + "\"\n");
  fs::remove_all(sample.folder() / "grids" / sample.grid().id);
  const auto done = [&](const std::vector<std::string>& command, int status = 0) {
    const test::Outcome outcome = run_in_process(sample, command);
    INFO(command.front() << ": " << outcome.err << outcome.out);
    CHECK(outcome.status == status);
  };
  done({"plan", name, "--swatches", "6"});
  done({"plan", name, "--swatches", "12", "--bottles", "2", "--new-bottle"});
  std::string grades = "swatch,frost,chipping\n";
  for (const char* swatch : {"A1", "A2", "A3", "B1", "B2"}) grades += std::string(swatch) + ",4,0\n";
  test::write_text(sample.folder() / "in.csv", grades);
  done({"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", wide(100)});
  done({"grade", "1", "--from", (sample.folder() / "in.csv").string(), "--grader", wide(99) + "x"});
  const auto in_folder = [&](const std::string& to) { return (sample.folder() / to).string(); };
  const int answer = run_in_process(sample, {"fit"}).status;
  CHECK(answer <= 1);
  done({"fit", name, "--report", in_folder("report.pdf")}, answer);
  done({"fit", name, name, "--report", in_folder("report.pdf")}, answer);
  done({"table", "adopt", name, "--by", wide(100), "--reason", wide(1000)});
  done({"table", "card", in_folder("card.pdf")});
  done({"job", name, "--art", "60x40", "--card", in_folder("job.pdf")});
  done({"sheet", "1"});
  done({"table"});
}

TEST_CASE("longer texts are refused with their place", "[program][longest_text]") {
  const auto fit = [](const std::string& old_part, const std::string& text) {
    const test::SampleShop sample;
    replace_in_shop(sample, old_part, text);
    const test::Outcome outcome = run_in_process(sample, {"fit"});
    CHECK(outcome.status == 2);
    return outcome.err;
  };
  CHECK_THAT(fit("name = \"My shop\"", "name = \"" + std::string(61, 'x') + '"'),
             Contains("shop.name: found 61 characters, expected at most 60; say it in fewer words"));
  CHECK_THAT(fit("colour = \"amber\"", "colour = \"" + std::string(41, 'x') + '"'),
             Contains("glass.colour: found 41 characters, expected at most 40"));
  CHECK_THAT(fit("screens = [", "screens = [\"" + std::string(41, 'x') + "\", "),
             Contains("machine.screens: found 41 characters, expected at most 40"));
  CHECK_THAT(fit("[acceptance]", "[grades]\nfrost = " + words(6, std::string(81, 'x')) + "\n[acceptance]"),
             Contains("grades.frost: found 81 characters, expected at most 80"));
  CHECK_THAT(fit("name = \"My shop\"", "name = \"My\\nshop\""),
             Contains("shop.name: found the control character 0x0A as character 3"));
}
