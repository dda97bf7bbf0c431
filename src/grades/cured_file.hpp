// results/cured-faults.csv: faults of a machine that were found and cured, such as a dirty lens. The pieces
// that were logged on the machine while it had the fault say nothing of its settings (logged_pieces.hpp).
// Columns: machine, cure, since, by, recorded_at, format.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"
#include "shop/shop.hpp"
#include "textfile/append_row.hpp"
#include "textfile/file_system.hpp"

namespace frostcal::grades {

struct CuredFault {
  std::string machine;
  std::string cure;         // "lens cleaned"
  std::string since;        // 2026-11-03T00:00:00Z: what was logged from then on ...
  std::string by;           // who says so
  std::string recorded_at;  // ... until then is set aside, both ends included
  int line = 0;             // in the file, from 1; 0 = not from a file
};

/// The format of the rows that this version writes, and the newest that it reads.
inline constexpr int kCuredFormat = 1;

textfile::AppendedFile cured_layout(const shop::Shop& shop);

/// All rows in file order; empty when there is no file. Machines that the shop no longer has are kept. Throws
/// UserError with every fault.
std::vector<CuredFault> read_cured(const shop::Shop& shop,
                                   textfile::FileSystem& files = textfile::real_file_system());

std::vector<CuredFault> parse_cured(std::string_view text, const std::string& name,
                                    errors::FaultList& faults);

/// When it returns, the row is on the disk. Throws SystemError.
textfile::TailRepair append_cured(const shop::Shop& shop, const CuredFault& fault,
                                  textfile::FileSystem& files = textfile::real_file_system());

}  // namespace frostcal::grades
