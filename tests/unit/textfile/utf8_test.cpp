#include "textfile/utf8.hpp"

#include <catch2/catch.hpp>
#include <string>

#include "textfile/checksum.hpp"

using namespace frostcal::textfile;

TEST_CASE("well-formed UTF-8 is accepted, the rest is placed", "[textfile][utf8]") {
  CHECK_FALSE(first_invalid_utf8(""));
  CHECK_FALSE(first_invalid_utf8("gr\xC3\xBCn \xE2\x82\xAC \xF0\x9F\x8D\xBE"));
  CHECK_FALSE(first_invalid_utf8("\xED\x9F\xBF \xEE\x80\x80 \xF4\x8F\xBF\xBF"));
  for (const char* bad :
       {"\x80", "\xC0\xAF", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
        "\xF4\x90\x80\x80", "\xF5\x80\x80\x80", "\xFF", "\xC3", "\xE2\x82", "\xF0\x9F\x8D", "\xC3("}) {
    CHECK(first_invalid_utf8("ab" + std::string(bad)) == std::size_t{2});
  }
  CHECK(character_count("gr\xC3\xBCn") == 4);
}

TEST_CASE("UTF-16 with its mark becomes UTF-8", "[textfile][utf8]") {
  using namespace std::string_literals;
  // U+0041, U+00FC, U+20AC, U+1F37E as Unicode encodes them in both byte orders.
  CHECK(utf8_from_utf16("\xFF\xFE\x41\x00\xFC\x00\xAC\x20\x3C\xD8\x7E\xDF"s) ==
        "A\xC3\xBC\xE2\x82\xAC\xF0\x9F\x8D\xBE"s);
  CHECK(utf8_from_utf16("\xFE\xFF\x00\x41\x00\xFC\x20\xAC\xD8\x3C\xDF\x7E"s) ==
        "A\xC3\xBC\xE2\x82\xAC\xF0\x9F\x8D\xBE"s);
  CHECK(utf8_from_utf16("\xFF\xFE"s) == ""s);
  for (const std::string& bad : {"A,B"s, ""s, "\xFF"s, "\xFF\xFE\x41"s, "\xFF\xFE\x3C\xD8"s,
                                 "\xFF\xFE\x3C\xD8\x41\x00"s, "\xFF\xFE\x7E\xDF\x41\x00"s}) {
    CHECK_FALSE(utf8_from_utf16(bad));
  }
}

// Check value of the catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC: cbf43926 (from memory; the
// tests of boost/crc.hpp use it too).
TEST_CASE("the checksum has the published check value", "[textfile][checksum]") {
  CHECK(crc32("123456789") == 0xCBF43926U);
  CHECK(crc32_text("123456789") == "cbf43926");
  CHECK(crc32_text("") == "00000000");
}
