#include "sheet/text_width.hpp"

#include <catch2/catch.hpp>
#include <sstream>

#include "sheet/pdf_writer.hpp"
#include "support/rendered_page.hpp"
#include "textfile/number_text.hpp"

using namespace frostcal::sheet;
using Catch::Matchers::WithinAbs;

TEST_CASE("text is as wide as another program finds it on the page", "[sheet][text]") {
  Page page(200, 60);
  const std::vector<std::string> words = {"Quick", "0123456789", "\u00c4\u00f6\u0142\u017f",
                                          "W\u2212\u2264\u2026m", "iIl.,:"};
  double y = 50;
  for (const std::string& word : words) {
    page.add(Text{{10, y}, 6, word, Face::regular, Align::left, kBlack, 0});
    page.add(Text{{100, y}, 6, word, Face::bold, Align::left, kBlack, 0});
    y -= 10;
  }
  const std::string pdf = to_pdf({"widths", "en", std::nullopt, {page}});
  std::istringstream lines(frostcal::test::ask("pdftotext -bbox FILE -", pdf).output);
  std::size_t found = 0;
  for (std::string line; std::getline(lines, line);) {
    if (line.find("<word") == std::string::npos) continue;
    const auto value = [&](const std::string& key) {
      const std::size_t at = line.find(key + "=\"") + key.size() + 2;
      return *frostcal::textfile::parse_number(line.substr(at, line.find('"', at) - at)) / 72 * 25.4;
    };
    const double width = value("xMax") - value("xMin");
    const Face face = value("xMin") > 90 ? Face::bold : Face::regular;
    bool matched = false;
    for (const std::string& word : words)
      if (line.find(">" + word + "<") != std::string::npos) {
        // The file's widths are whole thousandths of the em, rounded down.
        CHECK_THAT(text_width_mm(word, face, 6), WithinAbs(width, 0.006 * static_cast<double>(word.size())));
        matched = true;
      }
    found += matched ? 1 : 0;
  }
  CHECK(found == 2 * words.size());
}

TEST_CASE("text that cannot be printed is shown as question marks", "[sheet][text]") {
  CHECK(printable("a\tb") == "a?b");
  CHECK(printable("\xC3") == "?");
  CHECK(printable("\xC0\xAF") == "??");
  CHECK(printable("\xF0\x9F\x8D\xBE!") == "?!");
  CHECK(printable("\u00e4\u2264") == "\u00e4\u2264");
}

TEST_CASE("wrapped lines keep every word and stay within the width", "[sheet][text]") {
  const std::string text =
      "Stay with the machine, extinguisher in reach. Donaudampfschifffahrtsgesellschaft burns.";
  std::string joined;
  for (const std::string& line : wrap(text, Face::regular, 3, 25)) {
    CHECK(text_width_mm(line, Face::regular, 3) <= 25);
    joined += line;
  }
  std::string without_spaces;
  for (const char c : text)
    if (c != ' ') without_spaces += c;
  std::string joined_without;
  for (const char c : joined)
    if (c != ' ') joined_without += c;
  CHECK(joined_without == without_spaces);
  CHECK(wrap("", Face::regular, 3, 25).empty());
  CHECK(wrap("one\ntwo", Face::regular, 3, 25) == std::vector<std::string>{"one", "two"});
}

TEST_CASE("shortened text ends in an ellipsis and fits", "[sheet][text]") {
  CHECK(shorten("amber", Face::bold, 3, 30) == "amber");
  const std::string second = shorten("a-very-long-name-of-a-bottle-2", Face::bold, 3, 20);
  CHECK(second != shorten("a-very-long-name-of-a-bottle-3", Face::bold, 3, 20));
  CHECK(second.substr(second.size() - 2) == "-2");
  CHECK(text_width_mm(second, Face::bold, 3) <= 20);
  const std::string cut = shorten("a very long name of a bottle", Face::bold, 3, 20);
  CHECK(text_width_mm(cut, Face::bold, 3) <= 20);
  CHECK(cut.substr(cut.size() - 3) == "\u2026");
}
