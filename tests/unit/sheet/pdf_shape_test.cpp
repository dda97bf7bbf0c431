#include "sheet/pdf_shape.hpp"

#include <catch2/catch.hpp>

#include "support/file_text.hpp"

using namespace frostcal;
using sheet::pdf_shape;
using sheet::PdfShape;

TEST_CASE("a sheet cut anywhere is seen to be damaged", "[sheet][pdf_shape]") {
  const std::string pdf = test::file_text("grids/0001-olive-oil-green/burn.pdf");
  REQUIRE(pdf.size() > 5000);
  CHECK(pdf_shape(pdf) == PdfShape::whole);
  CHECK(pdf_shape(pdf + "\n") == PdfShape::whole);
  // Behind the first mark only an update follows (the language); what is before it draws all by itself.
  const std::size_t mark = pdf.find("%%EOF");
  for (std::size_t length = 0; length < mark + 5; length += length < 40 || length + 100 > mark ? 1 : 97) {
    INFO("cut after " << length);
    CHECK(pdf_shape(pdf.substr(0, length)) == PdfShape::damaged);
  }
  std::string hole = pdf;  // a block that never reached the disk
  hole.erase(1000, 512);
  CHECK(pdf_shape(hole) == PdfShape::damaged);
}

TEST_CASE("what is no PDF is told from a damaged one", "[sheet][pdf_shape]") {
  CHECK(pdf_shape("") == PdfShape::damaged);
  CHECK(pdf_shape("%PD") == PdfShape::damaged);
  CHECK(pdf_shape("burn at 60 %") == PdfShape::other);
  CHECK(pdf_shape("\x89PNG") == PdfShape::other);
  CHECK(pdf_shape("%PDF-1.3\nstartxref\n99999999999999999999\n%%EOF\n") == PdfShape::damaged);
  CHECK(pdf_shape("%PDF-1.3\nstartxref\nnowhere\n%%EOF\n") == PdfShape::damaged);
  // With a cross-reference stream, as other programs write it.
  CHECK(pdf_shape("%PDF-1.5\n7 0 obj\nstartxref\n9\n%%EOF\n") == PdfShape::whole);
}
