#include "sheet/text_width.hpp"

#include <algorithm>
#include <cstdint>
#include <iterator>
#include <string_view>

#include "textfile/utf8.hpp"

namespace frostcal::sheet {
namespace {

// U+0020..U+007E, then U+00A0..U+017F.
constexpr std::uint16_t kRegularAscii[] = {
    651,  821,  942,  1716, 1303, 1946, 1597, 563,  799,  799,  1024, 1716, 651,  739,  651,  690,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690,  690,  1716, 1716, 1716, 1087,
    2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604,  604,  1343, 1141, 1767, 1532, 1612,
    1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799,  690,  799,  1716, 1024,
    1024, 1255, 1300, 1126, 1300, 1260, 721,  1300, 1298, 569,  569,  1186, 569,  1995, 1298, 1253,
    1300, 1300, 842,  1067, 803,  1298, 1212, 1675, 1212, 1212, 1075, 1303, 690,  1303, 1716};
constexpr std::uint16_t kRegularLatin[] = {
    651,  821,  1303, 1303, 1303, 1303, 690,  1024, 1024, 2048, 965,  1253, 1716, 739,  2048, 1024,
    1024, 1716, 821,  821,  1024, 1303, 1303, 651,  1024, 821,  965,  1253, 1985, 1985, 1985, 1087,
    1401, 1401, 1401, 1401, 1401, 1401, 1995, 1430, 1294, 1294, 1294, 1294, 604,  604,  604,  604,
    1587, 1532, 1612, 1612, 1612, 1612, 1612, 1716, 1612, 1499, 1499, 1499, 1499, 1251, 1239, 1290,
    1255, 1255, 1255, 1255, 1255, 1255, 2011, 1126, 1260, 1260, 1260, 1260, 569,  569,  569,  569,
    1253, 1298, 1253, 1253, 1253, 1253, 1253, 1716, 1253, 1298, 1298, 1298, 1298, 1212, 1300, 1212,
    1401, 1255, 1401, 1255, 1401, 1255, 1430, 1126, 1430, 1126, 1430, 1126, 1430, 1126, 1577, 1300,
    1587, 1300, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1294, 1260, 1587, 1300, 1587, 1300,
    1587, 1300, 1587, 1300, 1540, 1298, 1876, 1423, 604,  569,  604,  569,  604,  569,  604,  569,
    604,  569,  1208, 1138, 604,  569,  1343, 1186, 1186, 1141, 569,  1141, 569,  1141, 768,  1141,
    700,  1151, 582,  1532, 1298, 1532, 1298, 1532, 1298, 1666, 1532, 1298, 1612, 1253, 1612, 1253,
    1612, 1253, 2191, 2095, 1423, 842,  1423, 842,  1423, 842,  1300, 1067, 1300, 1067, 1300, 1067,
    1300, 1067, 1251, 803,  1251, 803,  1251, 803,  1499, 1298, 1499, 1298, 1499, 1298, 1499, 1298,
    1499, 1298, 1499, 1298, 2025, 1675, 1251, 1212, 1251, 1403, 1075, 1403, 1075, 1403, 1075, 721};
constexpr std::uint16_t kBoldAscii[] = {
    713,  934,  1067, 1716, 1425, 2052, 1786, 627,  936,  936,  1071, 1716, 778,  850,  778,  748,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819,  819,  1716, 1716, 1716, 1188,
    2048, 1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762,  762,  1587, 1305, 2038, 1714, 1741,
    1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936,  748,  936,  1716, 1024,
    1024, 1382, 1466, 1214, 1466, 1389, 891,  1466, 1458, 702,  702,  1362, 702,  2134, 1458, 1407,
    1466, 1466, 1010, 1219, 979,  1458, 1335, 1892, 1321, 1335, 1192, 1458, 748,  1458, 1716};
constexpr std::uint16_t kBoldLatin[] = {
    713,  934,  1425, 1425, 1303, 1425, 748,  1024, 1024, 2048, 1155, 1323, 1716, 850,  2048, 1024,
    1024, 1716, 897,  897,  1024, 1507, 1303, 778,  1024, 897,  1155, 1323, 2120, 2120, 2120, 1188,
    1585, 1585, 1585, 1585, 1585, 1585, 2222, 1503, 1399, 1399, 1399, 1399, 762,  762,  762,  762,
    1716, 1714, 1741, 1741, 1741, 1741, 1741, 1716, 1741, 1663, 1663, 1663, 1663, 1483, 1511, 1473,
    1382, 1382, 1382, 1382, 1382, 1382, 2146, 1214, 1389, 1389, 1389, 1389, 702,  702,  702,  702,
    1407, 1458, 1407, 1407, 1407, 1407, 1407, 1716, 1407, 1458, 1458, 1458, 1458, 1335, 1466, 1335,
    1585, 1382, 1585, 1382, 1585, 1382, 1503, 1214, 1503, 1214, 1503, 1214, 1503, 1214, 1700, 1466,
    1716, 1466, 1399, 1389, 1399, 1389, 1399, 1389, 1399, 1389, 1399, 1389, 1681, 1466, 1681, 1466,
    1681, 1466, 1681, 1466, 1714, 1458, 1994, 1618, 762,  702,  762,  702,  762,  702,  762,  702,
    762,  702,  1524, 1404, 762,  702,  1587, 1362, 1362, 1305, 702,  1305, 702,  1305, 982,  1305,
    1140, 1315, 760,  1714, 1458, 1714, 1458, 1714, 1458, 2013, 1714, 1458, 1741, 1407, 1741, 1407,
    1741, 1407, 2390, 2241, 1577, 1010, 1577, 1010, 1577, 1010, 1475, 1219, 1475, 1219, 1475, 1219,
    1475, 1219, 1397, 979,  1397, 979,  1397, 979,  1663, 1458, 1663, 1458, 1663, 1458, 1663, 1458,
    1663, 1458, 1663, 1458, 2259, 1892, 1483, 1335, 1483, 1485, 1192, 1485, 1192, 1485, 1192, 891};

struct Sign {
  char32_t code;
  std::uint16_t regular;
  std::uint16_t bold;
};
constexpr Sign kSigns[] = {
    {0x0394, 1401, 1585}, {0x03BC, 1303, 1507}, {0x2009, 409, 409},   {0x2013, 1024, 1024},
    {0x2014, 2048, 2048}, {0x2018, 651, 778},   {0x2019, 651, 778},   {0x201C, 1061, 1346},
    {0x201D, 1061, 1346}, {0x2022, 1208, 1309}, {0x2026, 2048, 2048}, {0x202F, 409, 409},
    {0x2032, 465, 540},   {0x20AC, 1303, 1425}, {0x2190, 1716, 1716}, {0x2191, 1716, 1716},
    {0x2192, 1716, 1716}, {0x2193, 1716, 1716}, {0x2212, 1716, 1716}, {0x2248, 1716, 1716},
    {0x2264, 1716, 1716}, {0x2265, 1716, 1716}, {0x25A1, 1935, 1935}, {0x2713, 1716, 1716}};
constexpr double kUnitsPerEm = 2048;

double width_units(char32_t code, Face face) {
  const bool bold = face == Face::bold;
  if (code >= 0x20 && code <= 0x7E) return (bold ? kBoldAscii : kRegularAscii)[code - 0x20];
  if (code >= 0xA0 && code <= 0x17F) return (bold ? kBoldLatin : kRegularLatin)[code - 0xA0];
  const auto sign = std::find_if(std::begin(kSigns), std::end(kSigns),
                                 [code](const Sign& known) { return known.code == code; });
  if (sign == std::end(kSigns)) return kUnitsPerEm;
  return bold ? sign->bold : sign->regular;
}

/// The character at `at`, a question mark for a byte that is not part of one.
textfile::Character character_at(const std::string& text, std::size_t at) {
  return textfile::first_character(std::string_view(text).substr(at)).value_or(textfile::Character{U'?', 1});
}

/// The longest start of `text` that fits, at a character's edge; at least one character.
std::size_t fitting_bytes(const std::string& text, Face face, double size_mm, double width_mm) {
  double width = 0;
  std::size_t at = 0;
  while (at < text.size()) {
    const textfile::Character next = character_at(text, at);
    width += width_units(next.code, face) * size_mm / kUnitsPerEm;
    if (width > width_mm && at > 0) break;
    at += next.bytes;
  }
  return at;
}

void wrap_paragraph(const std::string& text, Face face, double size_mm, double width_mm,
                    std::vector<std::string>& lines) {
  std::string rest = text;
  while (!rest.empty()) {
    if (text_width_mm(rest, face, size_mm) <= width_mm) {
      lines.push_back(rest);
      return;
    }
    std::size_t cut = fitting_bytes(rest, face, size_mm, width_mm);
    const std::size_t space = rest.rfind(' ', cut);
    std::size_t next = cut;
    if (space != std::string::npos && space > 0) {
      cut = space;
      next = space + 1;
    }
    lines.push_back(rest.substr(0, cut));
    rest.erase(0, next);
  }
}

}  // namespace

double text_width_mm(const std::string& text, Face face, double size_mm) {
  double units = 0;
  for (std::size_t at = 0; at < text.size();) {
    const textfile::Character next = character_at(text, at);
    units += width_units(next.code, face);
    at += next.bytes;
  }
  return units * size_mm / kUnitsPerEm;
}

std::string printable(const std::string& text) {
  std::string result;
  for (std::size_t at = 0; at < text.size();) {
    const textfile::Character next = character_at(text, at);
    const bool control = next.code < 0x20 || (next.code >= 0x7F && next.code < 0xA0);
    result += control || next.code > 0xFFFF || next.code == U'?' ? "?" : text.substr(at, next.bytes);
    at += next.bytes;
  }
  return result;
}

std::vector<std::string> wrap(const std::string& text, Face face, double size_mm, double width_mm) {
  std::vector<std::string> lines;
  std::size_t start = 0;
  while (start < text.size()) {
    const std::size_t end = std::min(text.find('\n', start), text.size());
    if (end == start)
      lines.emplace_back();
    else
      wrap_paragraph(printable(text.substr(start, end - start)), face, size_mm, width_mm, lines);
    start = end + 1;
  }
  return lines;
}

std::string shorten(const std::string& text, Face face, double size_mm, double width_mm) {
  std::string whole = printable(text);
  if (text_width_mm(whole, face, size_mm) <= width_mm) return whole;
  const std::string dots = "\u2026";
  const std::size_t dash = whole.rfind('-');
  const bool numbered = dash != std::string::npos && dash + 1 < whole.size() && whole.size() - dash <= 4 &&
                        whole.find_first_not_of("0123456789", dash + 1) == std::string::npos;
  const std::string end = dots + (numbered ? whole.substr(dash) : "");
  const double room = width_mm - text_width_mm(end, face, size_mm);
  return room > 0 ? whole.substr(0, fitting_bytes(whole, face, size_mm, room)) + end : dots;
}

double fitting_size(const std::string& text, Face face, double width_mm, double largest_mm,
                    double smallest_mm) {
  const double width = text_width_mm(text, face, largest_mm);
  return width <= width_mm ? largest_mm : std::max(smallest_mm, largest_mm * width_mm / width);
}

}  // namespace frostcal::sheet
