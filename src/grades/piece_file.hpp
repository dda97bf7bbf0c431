// results/pieces.csv: how customers' pieces came out. Each row carries its own setting, because the table may
// have changed since. A grade is a number, or ">=4" and "<=1" where only that much is known (since format 2).
// Columns: glass, machine, power_pct, speed_pct, dpi, tone_pct, screen, passes, frost,
// chipping, note, by, logged_at, burn_s, art_width_mm, art_height_mm, format. Older files lack
// some of the last four; they are read as they are, and get those of a timed burn when the first one is
// logged.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"
#include "grades/grade.hpp"
#include "shop/setting.hpp"
#include "shop/shop.hpp"
#include "textfile/append_row.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::grades {

/// How long the machine took for art of this size, as it looks on the standing bottle.
struct TimedBurn {
  double seconds = 0;
  double art_width_mm = 0;   // round the bottle: one scan line per pitch
  double art_height_mm = 0;  // along its axis: the length of a scan line
};

inline constexpr double kLongestBurnSeconds = 86400;
inline constexpr double kLargestArtMm = 2000;

struct PieceRow {
  std::string glass;
  std::string machine;
  shop::Setting setting;
  std::optional<GradeRange> frost;     // 0..5; nothing = not looked at
  std::optional<GradeRange> chipping;  // 0..3
  std::string note;
  std::string by;
  std::string logged_at;          // 2026-11-25T11:14:05Z
  std::optional<TimedBurn> burn;  // nothing when nobody timed it
  int line = 0;                   // in the file, from 1; 0 = not from a file
};

/// The format of the rows that this version writes, and the newest that it reads.
inline constexpr int kPiecesFormat = 2;

textfile::AppendedFile pieces_layout(const shop::Shop& shop);

/// All rows in file order; empty when there is no file. Glasses and machines that the shop no longer has are
/// kept. Throws UserError with every fault.
std::vector<PieceRow> read_pieces(const shop::Shop& shop,
                                  textfile::FileSystem& files = textfile::real_file_system());

std::vector<PieceRow> parse_pieces(std::string_view text, const std::string& name, errors::FaultList& faults);

/// Appends the rows with one write; when it returns, they are on the disk. Throws SystemError.
textfile::TailRepair append_pieces(const shop::Shop& shop, const std::vector<PieceRow>& rows,
                                   textfile::FileSystem& files = textfile::real_file_system());

}  // namespace frostcal::grades
