// Times in files: UTC, in one fixed form of 20 characters, "2026-11-25T11:14:05Z" (RFC 3339).
// Its fixed length shows when a row was cut short.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace frostcal::textfile {

/// True for a time of that form that exists in the calendar (years 1970 to 9999).
bool is_utc_time(std::string_view text);

/// True for a date, with or without a time of day, as spreadsheets show their own: "10.02.2026 09:03:00",
/// "2/10/2026 9:03 AM", "2026-02-10". Which number is the day can't be told.
bool is_spreadsheet_date(std::string_view text);

/// Days since 1970-01-01 of a date at the start of the text, "2026-11-25" or a whole time; none when there is
/// no such date in the calendar.
std::optional<int> day_number(std::string_view text);
/// True of what a day without a time is kept as: its midnight, "2026-11-25T00:00:00Z".
bool is_bare_day(std::string_view time);
/// The date of such a number.
std::string date_text(int day);

/// Seconds since 1970-01-01T00:00:00Z, without leap seconds, from 0 to the year 9999 (else Bug).
std::string format_utc_time(std::int64_t seconds);
/// The seconds of such a time; none when the text is no such time.
std::optional<std::int64_t> utc_seconds(std::string_view text);

}  // namespace frostcal::textfile
