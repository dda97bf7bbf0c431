#include "sheet/pdf_writer.hpp"

#include <catch2/catch.hpp>

#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "support/rendered_page.hpp"

using namespace frostcal::sheet;
using frostcal::test::ask;
using frostcal::test::render;
using frostcal::test::Renderer;

namespace {
Document text_document() {
  Page page(210, 297);
  page.add(Text{{20, 200}, 5, "Gr\u00fcn \u2264 90 %", Face::regular, Align::left, kBlack, 0});
  page.rectangle(20, 100, 100, 2, kBlack, "bar");
  return {"Grid 7: gr\u00fcn", "en-GB", 1764069245, {page}};
}
}  // namespace

TEST_CASE("every grey level and colour arrives as it was meant", "[sheet][pdf]") {
  Page page(80, 80);
  for (int level = 0; level < 256; ++level)
    page.rectangle(5.0 * (level % 16), 5.0 * (level / 16), 5, 5, grey(static_cast<std::uint8_t>(level)));
  Page colours(80, 80);
  for (int level = 0; level < 256; ++level)
    colours.rectangle(5.0 * (level % 16), 5.0 * (level / 16), 5, 5,
                      Ink{static_cast<std::uint8_t>(level), static_cast<std::uint8_t>(255 - level),
                          static_cast<std::uint8_t>((level * 7 + 3) % 256)});
  const std::string pdf = to_pdf({"levels", "en", std::nullopt, {page, colours}});
  for (const Renderer renderer : {Renderer::poppler, Renderer::mupdf}) {
    const auto greys = render(renderer, pdf, 1, 72);
    const auto inks = render(renderer, pdf, 2, 72);
    for (int level = 0; level < 256; ++level) {
      const double x = 5.0 * (level % 16) + 2.5;
      const double y = 5.0 * (level / 16) + 2.5;
      CHECK(greys.at_mm(x, y, 72) == std::array<int, 3>{level, level, level});
      CHECK(inks.at_mm(x, y, 72) == std::array<int, 3>{level, 255 - level, (level * 7 + 3) % 256});
    }
  }
}

TEST_CASE("one-bit and colour images arrive pixel by pixel", "[sheet][pdf]") {
  Page page(20, 10);
  // 16 x 8 pixels of 0.5 mm: a checkerboard with one corner solid.
  std::string bits;
  for (int row = 0; row < 8; ++row) {
    bits += static_cast<char>(row < 4 ? 0xFF : row % 2 == 0 ? 0xAA : 0x55);
    bits += static_cast<char>(row % 2 == 0 ? 0xAA : 0x55);
  }
  page.add(Image{{0, 2}, 8, 4, 16, 8, PixelKind::one_bit, bits, ""});
  page.add(Image{{10, 2}, 1, 1, 2, 1, PixelKind::rgb, std::string("\x10\x20\x30\xFF\xFF\xFF", 6), ""});
  const std::string pdf = to_pdf({"dots", "en", std::nullopt, {page}});
  for (const Renderer renderer : {Renderer::poppler, Renderer::mupdf}) {
    const auto raster = render(renderer, pdf, 1, 254);
    for (int row = 0; row < 8; ++row)
      for (int column = 0; column < 16; ++column) {
        const bool burn = (column < 8 && row < 4) || (row + column) % 2 == 0;
        const auto pixel = raster.at_mm(column * 0.5 + 0.25, 6 - row * 0.5 - 0.25, 254);
        CHECK(pixel == (burn ? std::array<int, 3>{0, 0, 0} : std::array<int, 3>{255, 255, 255}));
      }
    CHECK(raster.at_mm(10.2, 2.5, 254) == std::array<int, 3>{0x10, 0x20, 0x30});
  }
}

TEST_CASE("a document says its title, language and date, and is sound", "[sheet][pdf]") {
  const std::string pdf = to_pdf(text_document());
  const auto check = ask("qpdf --check FILE", pdf);
  CHECK(check.status == 0);
  const std::string facts = ask("TZ=UTC pdfinfo FILE", pdf).output;
  CHECK(facts.find("Title:           Grid 7: gr\u00fcn") != std::string::npos);
  CHECK(facts.find("595.276 x 841.89 pts (A4)") != std::string::npos);
  CHECK(facts.find("Tue Nov 25 11:14:05 2025") != std::string::npos);
  CHECK(ask("qpdf --json FILE", pdf).output.find("\"/Lang\": \"u:en-GB\"") != std::string::npos);
  CHECK(ask("pdftotext FILE - 2>/dev/null", pdf).output.find("Gr\u00fcn \u2264 90 %") != std::string::npos);
  CHECK(ask("qpdf --json FILE", pdf).output.find("\"/PrintScaling\": \"/None\"") != std::string::npos);
}

TEST_CASE("the same document gives the same bytes, and no font where there is no text", "[sheet][pdf]") {
  CHECK(to_pdf(text_document()) == to_pdf(text_document()));
  Page page(50, 50);
  page.rectangle(1, 1, 8, 8, kBlack);
  FontFiles nowhere{"/nowhere/a.ttf", "/nowhere/b.ttf"};
  const std::string pdf = to_pdf({"", "en", std::nullopt, {page}}, nowhere);
  CHECK(ask("pdffonts FILE", pdf).output.find("DejaVu") == std::string::npos);
  CHECK(pdf.find("CreationDate") == std::string::npos);
}

TEST_CASE("a missing font is the system's fault and an empty document is ours", "[sheet][pdf]") {
  FontFiles nowhere{"/nowhere/a.ttf", "/nowhere/b.ttf"};
  try {
    to_pdf(text_document(), nowhere);
    FAIL("nothing thrown");
  } catch (const frostcal::errors::SystemError& error) {
    CHECK(error.path() == "/nowhere/a.ttf");
    CHECK(std::string(error.what()).find("fonts-dejavu-core") != std::string::npos);
  }
  CHECK_THROWS_AS(to_pdf({"", "en", std::nullopt, {}}), frostcal::errors::Bug);
}
