#include "sheet/drawing.hpp"

#include <catch2/catch.hpp>
#include <limits>

#include "errors/bug.hpp"

using namespace frostcal::sheet;
using frostcal::errors::Bug;

TEST_CASE("a page refuses what would print wrongly", "[sheet][drawing]") {
  Page page(100, 50);
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double infinite = std::numeric_limits<double>::infinity();
  CHECK_THROWS_AS(page.rectangle(nan, 0, 1, 1, kBlack), Bug);
  CHECK_THROWS_AS(page.rectangle(0, 0, infinite, 1, kBlack), Bug);
  CHECK_THROWS_AS(page.rectangle(99, 0, 2, 1, kBlack), Bug);
  CHECK_THROWS_AS(page.rectangle(-0.01, 0, 2, 1, kBlack), Bug);
  CHECK_THROWS_AS(page.add(Rule{{0, 0}, {10, 0}, 0, kBlack, 0}), Bug);
  CHECK_THROWS_AS(page.add(Fill{{{0, 0}, {1, 1}}, kBlack, ""}), Bug);
  CHECK_THROWS_AS(page.add(Text{{95, 10}, 3, "too wide for here", Face::regular, Align::left, kBlack, 0}),
                  Bug);
  CHECK_THROWS_AS(page.add(Image{{0, 0}, 5, 5, 12, 2, PixelKind::one_bit, "abc", ""}), Bug);
  CHECK_THROWS_AS(page.add(Image{{0, 0}, 5, 5, 8, 2, PixelKind::one_bit, "abc", ""}), Bug);
  CHECK(page.elements().empty());
  CHECK_THROWS_AS(Page(1, 50), Bug);
  CHECK_THROWS_AS(Page(100, 5001), Bug);
  CHECK_NOTHROW(page.rectangle(0, 0, 100, 50, kBlack));
}

TEST_CASE("a listing names every element", "[sheet][drawing]") {
  Page page(60, 20);
  page.rectangle(1, 2, 3.25, 4, Ink{255, 128, 0}, "swatch A1");
  page.add(Rule{{0, 0}, {60, 0}, 0.2, grey(150), 1});
  page.add(Text{{30, 5}, 3, "even frost", Face::bold, Align::centre, kBlack, 0});
  page.add(Image{{1, 1}, 2, 2, 8, 2, PixelKind::one_bit, std::string("\xF0\x0F", 2), "dots"});
  CHECK(listing(page) ==
        "page 60 x 20 mm\n"
        "fill #FF8000 (1,2) (4.25,2) (4.25,6) (1,6) 'swatch A1'\n"
        "rule #969696 (0,0) (60,0) width 0.2 dash 1\n"
        "text #000000 (30,5) size 3 bold centre \"even frost\"\n"
        "image (1,1) 2 x 2 pixels 8 x 2 crc c5daeed3 'dots'\n");
}
