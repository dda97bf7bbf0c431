#include "textfile/time_text.hpp"

#include <catch2/catch.hpp>
#include <ctime>
#include <random>

using namespace frostcal::textfile;

TEST_CASE("times agree with the C library's calendar", "[textfile][time_text]") {
  CHECK(format_utc_time(0) == "1970-01-01T00:00:00Z");
  CHECK(format_utc_time(253402300799) == "9999-12-31T23:59:59Z");
  std::mt19937_64 random(7);
  for (int i = 0; i < 2000; ++i) {
    const std::time_t seconds = static_cast<std::time_t>(random() % 253402300800ULL);
    std::tm broken{};
    REQUIRE(::gmtime_r(&seconds, &broken) != nullptr);
    char text[32];
    REQUIRE(std::strftime(text, sizeof text, "%Y-%m-%dT%H:%M:%SZ", &broken) == 20);
    CHECK(format_utc_time(seconds) == text);
    CHECK(is_utc_time(text));
    CHECK(utc_seconds(text) == seconds);
  }
}

TEST_CASE("a time that was cut or cannot be is refused", "[textfile][time_text]") {
  const std::string whole = "2024-02-29T23:59:59Z";
  CHECK(is_utc_time(whole));
  for (std::size_t length = 0; length < whole.size(); ++length)
    CHECK_FALSE(is_utc_time(whole.substr(0, length)));
  for (const char* text : {"2023-02-29T00:00:00Z", "2026-13-01T00:00:00Z", "2026-00-01T00:00:00Z",
                           "2026-01-32T00:00:00Z", "2026-01-01T24:00:00Z", "2026-01-01T00:60:00Z",
                           "2026-01-01 00:00:00Z", "2026-01-01T00:00:00+", "1969-12-31T23:59:59Z"}) {
    INFO(text);
    CHECK_FALSE(is_utc_time(text));
  }
}

TEST_CASE("dates as spreadsheets of several countries show them", "[textfile][time_text]") {
  // Forms from memory: German, US, British, Dutch, Swedish, Hungarian-like with a point, two-digit years.
  for (const char* text :
       {"10.02.2026 09:03:00", "2/10/2026 9:03", "2/10/2026 9:03:00 AM", "10/02/2026 09:03",
        "10-2-2026 09:03", "2026-02-10 09:03:00", "2026-02-10", "2026.02.10 9:03", "10.02.26 09:03",
        "2/10/26", "2/10/2026, 9:03:11 pm", "2026-02-10T09:03:00"}) {
    CAPTURE(text);
    CHECK(is_spreadsheet_date(text));
  }
  for (const char* text :
       {"", "4", "4.5", "10.02", "2026-02-10T09:03:00Z", "10.02/2026", "10.02.2026x", "10.02.2026 9",
        "10.02.2026 9:03:00:00", "a/b/c", "1.2.3.4", "12345.1.1", "yesterday"}) {
    CAPTURE(text);
    CHECK_FALSE(is_spreadsheet_date(text));
  }
}
