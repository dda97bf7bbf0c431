#include "sheet/pdf_writer.hpp"

#include <hpdf.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <memory>
#include <new>

#include "errors/bug.hpp"
#include "errors/system_error.hpp"
#include "numerics/pi.hpp"
#include "sheet/pdf_language.hpp"
#include "sheet/text_width.hpp"

namespace frostcal::sheet {
namespace {

constexpr double kPointsPerMm = 72.0 / 25.4;

HPDF_REAL points(double mm) {
  return static_cast<HPDF_REAL>(mm * kPointsPerMm);
}

// Thrown through frames of C: relies on the unwind tables that compilers write for C too on amd64 and arm64.
extern "C" void throw_pdf_error(HPDF_STATUS error, HPDF_STATUS detail, void*) {
  if (error == HPDF_FAILD_TO_ALLOC_MEM) throw std::bad_alloc();
  char code[64];
  std::snprintf(code, sizeof code, "libharu error 0x%04lX, detail %lu", static_cast<unsigned long>(error),
                static_cast<unsigned long>(detail));
  errors::report_bug(__FILE__, __LINE__, code);
}

struct FreeDocument {
  void operator()(HPDF_Doc document) const { HPDF_Free(document); }
};
using DocumentOwner = std::unique_ptr<std::remove_pointer_t<HPDF_Doc>, FreeDocument>;

bool has_text(const Document& document, Face face) {
  for (const Page& page : document.pages)
    for (const Element& element : page.elements())
      if (const Text* text = std::get_if<Text>(&element); text != nullptr && text->face == face) return true;
  return false;
}

HPDF_Font load_font(HPDF_Doc document, const std::string& path) {
  // libharu reports a missing file by a code of its own; the operating system says why.
  std::FILE* file = std::fopen(path.c_str(), "rb");
  if (file == nullptr)
    throw errors::SystemError(path, "open for reading", errno,
                              "install the Debian package fonts-dejavu-core");
  std::fclose(file);
  const char* name = HPDF_LoadTTFontFromFile(document, path.c_str(), HPDF_TRUE);
  return HPDF_GetFont(document, name, "UTF-8");
}

float channel(std::uint8_t level) {
  if (level == 0) return 0.0F;
  if (level == 255) return 1.0F;
  return static_cast<float>((level + 0.25) / 255.0);
}

/// Paints one page's elements; remembers what is set so that it is written only when it changes.
class Painter {
 public:
  Painter(HPDF_Doc document, HPDF_Page page, HPDF_Font regular, HPDF_Font bold)
      : document_(document), page_(page), regular_(regular), bold_(bold) {}

  void operator()(const Fill& fill) {
    set_fill(fill.ink);
    HPDF_Page_MoveTo(page_, points(fill.outline[0].x_mm), points(fill.outline[0].y_mm));
    for (std::size_t i = 1; i < fill.outline.size(); ++i)
      HPDF_Page_LineTo(page_, points(fill.outline[i].x_mm), points(fill.outline[i].y_mm));
    HPDF_Page_ClosePath(page_);
    HPDF_Page_Fill(page_);
  }

  void operator()(const Rule& rule) {
    if (rule.dash_mm > 0) return dashed(rule);
    set_stroke(rule.ink, rule.width_mm, HPDF_BUTT_END);
    HPDF_Page_MoveTo(page_, points(rule.from.x_mm), points(rule.from.y_mm));
    HPDF_Page_LineTo(page_, points(rule.to.x_mm), points(rule.to.y_mm));
    HPDF_Page_Stroke(page_);
  }

  void operator()(const Polyline& line) {
    set_stroke(line.ink, line.width_mm, HPDF_ROUND_END);
    HPDF_Page_MoveTo(page_, points(line.points[0].x_mm), points(line.points[0].y_mm));
    for (std::size_t i = 1; i < line.points.size(); ++i)
      HPDF_Page_LineTo(page_, points(line.points[i].x_mm), points(line.points[i].y_mm));
    HPDF_Page_Stroke(page_);
  }

  void operator()(const Text& text) {
    if (text.text.empty()) return;
    set_fill(text.ink);
    const double width = text_width_mm(text.text, text.face, text.size_mm);
    const double before = text.align == Align::left ? 0 : text.align == Align::centre ? width / 2 : width;
    const double turn = text.turn_degrees * numerics::kPi / 180;
    const double c = std::cos(turn);
    const double s = std::sin(turn);
    HPDF_Page_BeginText(page_);
    HPDF_Page_SetFontAndSize(page_, text.face == Face::bold ? bold_ : regular_, points(text.size_mm));
    HPDF_Page_SetTextMatrix(page_, static_cast<HPDF_REAL>(c), static_cast<HPDF_REAL>(s),
                            static_cast<HPDF_REAL>(-s), static_cast<HPDF_REAL>(c),
                            points(text.at.x_mm - before * c), points(text.at.y_mm - before * s));
    HPDF_Page_ShowText(page_, text.text.c_str());
    HPDF_Page_EndText(page_);
  }

  void operator()(const Image& image) {
    const auto* bytes = reinterpret_cast<const HPDF_BYTE*>(image.pixels.data());
    const auto columns = static_cast<HPDF_UINT>(image.columns);
    const auto rows = static_cast<HPDF_UINT>(image.rows);
    HPDF_Image handle = nullptr;
    if (image.kind == PixelKind::one_bit)
      handle = HPDF_Image_LoadRaw1BitImageFromMem(document_, bytes, columns, rows, columns / 8, HPDF_FALSE,
                                                  HPDF_TRUE);
    else
      handle = HPDF_LoadRawImageFromMem(document_, bytes, columns, rows, HPDF_CS_DEVICE_RGB, 8);
    HPDF_Page_DrawImage(page_, handle, points(image.corner.x_mm), points(image.corner.y_mm),
                        points(image.width_mm), points(image.height_mm));
  }

 private:
  void set_stroke(const Ink& ink, double width_mm, HPDF_LineCap cap) {
    if (ink.red == ink.green && ink.green == ink.blue)
      HPDF_Page_SetGrayStroke(page_, channel(ink.red));
    else
      HPDF_Page_SetRGBStroke(page_, channel(ink.red), channel(ink.green), channel(ink.blue));
    HPDF_Page_SetLineWidth(page_, points(width_mm));
    HPDF_Page_SetLineCap(page_, cap);
    HPDF_Page_SetLineJoin(page_, HPDF_ROUND_JOIN);
  }

  void set_fill(const Ink& ink) {
    if (fill_set_ && ink == fill_) return;
    if (ink.red == ink.green && ink.green == ink.blue)
      HPDF_Page_SetGrayFill(page_, channel(ink.red));
    else
      HPDF_Page_SetRGBFill(page_, channel(ink.red), channel(ink.green), channel(ink.blue));
    fill_ = ink;
    fill_set_ = true;
  }

  /// libharu's dash lengths are whole numbers of the unit, so dashes are drawn one by one.
  void dashed(const Rule& rule) {
    const double dx = rule.to.x_mm - rule.from.x_mm;
    const double dy = rule.to.y_mm - rule.from.y_mm;
    const double length = std::hypot(dx, dy);
    for (int dash = 0; 2 * dash * rule.dash_mm < length; ++dash) {
      const double start = 2 * dash * rule.dash_mm;
      const double end = std::min(start + rule.dash_mm, length);
      const auto at = [&](double s) {
        return Point{rule.from.x_mm + dx * s / length, rule.from.y_mm + dy * s / length};
      };
      (*this)(Rule{at(start), at(end), rule.width_mm, rule.ink, 0});
    }
  }

  HPDF_Doc document_;
  HPDF_Page page_;
  HPDF_Font regular_;
  HPDF_Font bold_;
  Ink fill_;
  bool fill_set_ = false;
};

void set_creation_date(HPDF_Doc document, std::int64_t seconds) {
  const std::time_t moment = static_cast<std::time_t>(seconds);
  std::tm utc{};
  FROSTCAL_ASSERT(gmtime_r(&moment, &utc) != nullptr, "creation date out of range");
  HPDF_Date date{};
  date.year = utc.tm_year + 1900;
  date.month = utc.tm_mon + 1;
  date.day = utc.tm_mday;
  date.hour = utc.tm_hour;
  date.minutes = utc.tm_min;
  date.seconds = std::min(utc.tm_sec, 59);
  date.ind = 'Z';
  HPDF_SetInfoDateAttr(document, HPDF_INFO_CREATION_DATE, date);
}

std::string saved_bytes(HPDF_Doc document) {
  HPDF_SaveToStream(document);
  HPDF_ResetStream(document);
  std::string bytes(HPDF_GetStreamSize(document), '\0');
  HPDF_UINT32 size = static_cast<HPDF_UINT32>(bytes.size());
  HPDF_ReadFromStream(document, reinterpret_cast<HPDF_BYTE*>(bytes.data()), &size);
  FROSTCAL_ASSERT(size == bytes.size(), "the PDF library returned fewer bytes than it announced");
  return bytes;
}

}  // namespace

std::string to_pdf(const Document& document, const FontFiles& fonts) {
  FROSTCAL_ASSERT(!document.pages.empty(), "a PDF file needs a page");
  const DocumentOwner owner(HPDF_New(throw_pdf_error, nullptr));
  if (!owner) throw std::bad_alloc();
  HPDF_Doc pdf = owner.get();
  // Without compression of images, libharu leaves out the filter entry of one-bit images.
  HPDF_SetCompressionMode(pdf, HPDF_COMP_ALL);
  HPDF_UseUTFEncodings(pdf);
  HPDF_SetCurrentEncoder(pdf, "UTF-8");
  HPDF_SetViewerPreference(pdf, HPDF_PRINT_SCALING_NONE);
  HPDF_SetInfoAttr(pdf, HPDF_INFO_TITLE, printable(document.title).c_str());
  HPDF_SetInfoAttr(pdf, HPDF_INFO_CREATOR, "frostcal");
  if (document.created_at) set_creation_date(pdf, *document.created_at);
  HPDF_Font regular = has_text(document, Face::regular) ? load_font(pdf, fonts.regular) : nullptr;
  HPDF_Font bold = has_text(document, Face::bold) ? load_font(pdf, fonts.bold) : nullptr;
  for (const Page& page : document.pages) {
    HPDF_Page sheet = HPDF_AddPage(pdf);
    HPDF_Page_SetWidth(sheet, points(page.width_mm()));
    HPDF_Page_SetHeight(sheet, points(page.height_mm()));
    Painter painter(pdf, sheet, regular, bold);
    for (const Element& element : page.elements()) std::visit(painter, element);
  }
  return with_language(saved_bytes(pdf), document.language);
}

}  // namespace frostcal::sheet
