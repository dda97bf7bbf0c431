// Is a file a whole PDF? A look at its ends, not at what is drawn.
#pragma once

#include <string_view>

namespace frostcal::sheet {

enum class PdfShape {
  whole,    // header, end mark, and a cross-reference where the end says it is (ISO 32000-1:2008, 7.5.5)
  damaged,  // empty, or it begins as a PDF and isn't whole: cut while it was written or copied
  other     // something else, that somebody may have put there
};

PdfShape pdf_shape(std::string_view bytes);

}  // namespace frostcal::sheet
