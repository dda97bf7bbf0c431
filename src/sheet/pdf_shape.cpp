#include "sheet/pdf_shape.hpp"

#include <algorithm>
#include <optional>
#include <string>

#include "errors/ascii.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::sheet {

namespace {

constexpr std::string_view kHeader = "%PDF-";
constexpr std::string_view kEndMark = "%%EOF";
constexpr std::string_view kStart = "startxref";
constexpr std::size_t kLookedAt = 1024;  // bytes at the end in which the mark must stand

bool is_blank(char c) {
  return c == ' ' || c == '\n' || c == '\r' || c == '\t';
}

// The number behind the last "startxref"; nothing when there is none.
std::optional<std::size_t> reference_offset(std::string_view end) {
  const std::size_t start = end.rfind(kStart);
  if (start == std::string_view::npos) return std::nullopt;
  std::string_view rest = end.substr(start + kStart.size());
  while (!rest.empty() && is_blank(rest.front())) rest.remove_prefix(1);
  const std::size_t digits = std::min(rest.find_first_not_of("0123456789"), rest.size());
  const std::optional<long long> offset = textfile::parse_integer(std::string(rest.substr(0, digits)));
  if (!offset) return std::nullopt;
  return static_cast<std::size_t>(*offset);
}

}  // namespace

PdfShape pdf_shape(std::string_view bytes) {
  if (bytes.substr(0, kHeader.size()) != kHeader.substr(0, bytes.size())) return PdfShape::other;
  const std::string_view end = bytes.substr(bytes.size() - std::min(bytes.size(), kLookedAt));
  if (end.rfind(kEndMark) == std::string_view::npos) return PdfShape::damaged;
  const std::optional<std::size_t> offset = reference_offset(end);
  if (!offset || *offset >= bytes.size()) return PdfShape::damaged;
  // A table, or the object that holds a cross-reference stream.
  const std::string_view reference = bytes.substr(*offset);
  const bool found = reference.substr(0, 4) == "xref" || errors::is_digit(reference.front());
  return found ? PdfShape::whole : PdfShape::damaged;
}

}  // namespace frostcal::sheet
