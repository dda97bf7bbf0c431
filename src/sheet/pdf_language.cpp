#include "sheet/pdf_language.hpp"

#include <algorithm>
#include <charconv>
#include <cstdio>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"

namespace frostcal::sheet {
namespace {

/// The whole number that follows `key` after `from`.
long number_after(const std::string& text, const std::string& key, std::size_t from) {
  std::size_t at = text.find(key, from);
  FROSTCAL_ASSERT(at != std::string::npos, "PDF without " + key);
  at += key.size();
  while (at < text.size() && (text[at] == ' ' || text[at] == '\n' || text[at] == '\r')) ++at;
  long value = -1;
  std::from_chars(text.data() + at, text.data() + text.size(), value);
  FROSTCAL_ASSERT(value >= 0, "PDF without a number after " + key);
  return value;
}

}  // namespace

std::string with_language(const std::string& pdf, const std::string& language) {
  FROSTCAL_ASSERT(std::all_of(language.begin(), language.end(),
                              [](char c) { return errors::is_letter_or_digit(c) || c == '-'; }),
                  "language tag with other than letters, digits and hyphens");
  const std::size_t tail = pdf.rfind("trailer");
  FROSTCAL_ASSERT(tail != std::string::npos, "PDF without trailer");
  const long root = number_after(pdf, "/Root", tail);
  const long info = number_after(pdf, "/Info", tail);
  const long size = number_after(pdf, "/Size", tail);
  const long table = number_after(pdf, "startxref", tail);

  const std::string head = "\n" + std::to_string(root) + " 0 obj\n<<";
  const std::size_t start = pdf.find(head);
  const std::size_t end = pdf.find("endobj", start);
  FROSTCAL_ASSERT(start != std::string::npos && end != std::string::npos, "PDF without catalog");
  const std::string rest = pdf.substr(start + head.size(), end - start - head.size());

  std::string result = pdf;
  if (result.back() != '\n') result += '\n';
  const std::size_t object_at = result.size();
  result += head.substr(1) + "\n/Lang (" + language + ")" + rest + "endobj\n";
  const std::size_t table_at = result.size();
  char entry[24];
  std::snprintf(entry, sizeof entry, "%010zu 00000 n\r\n", object_at);
  result += "xref\n" + std::to_string(root) + " 1\n" + entry;
  result += "trailer\n<<\n/Size " + std::to_string(size) + "\n/Root " + std::to_string(root) +
            " 0 R\n/Info " + std::to_string(info) + " 0 R\n/Prev " + std::to_string(table) +
            "\n>>\nstartxref\n" + std::to_string(table_at) + "\n%%EOF\n";
  return result;
}

}  // namespace frostcal::sheet
