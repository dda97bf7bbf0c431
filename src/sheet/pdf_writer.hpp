// Drawings to the bytes of a PDF file, in memory.
//
// 1 mm = 72 / 25.4 points (ISO 32000-1, 8.3.2.3: the default user unit is 1/72 inch; the inch is 25.4 mm).
// A grey or colour channel of 8-bit value k is written as (k + 0.25) / 255: written as k / 255, half of the
// levels come out one lower in a renderer that truncates (measured with poppler, mupdf and Ghostscript).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "sheet/drawing.hpp"

namespace frostcal::sheet {

/// created_at: seconds since 1970-01-01 UTC, from SOURCE_DATE_EPOCH or the clock, chosen by the caller;
/// without it the file carries no date. language is a tag of RFC 5646.
struct Document {
  std::string title;
  std::string language = "en";
  std::optional<std::int64_t> created_at;
  std::vector<Page> pages;
};

/// TrueType files to embed; opened only when the document has text.
struct FontFiles {
  std::string regular = "/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf";
  std::string bold = "/usr/share/fonts/truetype/dejavu/DejaVuSans-Bold.ttf";
};

/// The file's bytes; the same document gives the same bytes. Throws Bug for a document without pages,
/// SystemError when a font cannot be read, std::bad_alloc, and Bug for any other complaint of the PDF
/// library.
std::string to_pdf(const Document& document, const FontFiles& fonts = {});

}  // namespace frostcal::sheet
