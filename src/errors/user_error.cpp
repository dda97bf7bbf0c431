#include "errors/user_error.hpp"

#include <algorithm>
#include <cstdio>

#include "errors/ascii.hpp"
#include "errors/bug.hpp"

namespace frostcal::errors {

namespace {

constexpr std::size_t kMostShown = 20;

std::string join(const std::vector<Fault>& faults) {
  std::string text;
  for (std::size_t i = 0; i < faults.size() && i < kMostShown; ++i) {
    if (i > 0) text += '\n';
    text += to_text(faults[i]);
  }
  if (faults.size() > kMostShown) {
    text += "\n... and " + std::to_string(faults.size() - kMostShown) + " more faults";
  }
  return text;
}

}  // namespace

std::string to_text(const Fault& fault) {
  std::string text = fault.place.file;
  if (fault.place.line > 0) text += ':' + std::to_string(fault.place.line);
  if (fault.place.line > 0 && fault.place.column > 0) text += ':' + std::to_string(fault.place.column);
  if (!text.empty()) text += ": ";
  if (!fault.place.field.empty()) text += fault.place.field + ": ";
  if (!fault.found.empty()) text += "found " + fault.found;
  if (fault.rows_alike > 0) {
    text += " (and " + std::to_string(fault.rows_alike) +
            (fault.rows_alike == 1 ? " later row like it)" : " later rows like it)");
  }
  if (!fault.expected.empty())
    text += std::string(fault.found.empty() ? "" : ", ") + "expected " + fault.expected;
  if (!fault.remedy.empty()) {
    text += std::string(fault.found.empty() && fault.expected.empty() ? "" : "; ") + fault.remedy;
  }
  return text;
}

UserError::UserError(Fault fault) : UserError(std::vector<Fault>{std::move(fault)}) {}

UserError::UserError(std::vector<Fault> faults) : faults_(std::move(faults)), text_(join(faults_)) {
  FROSTCAL_ASSERT(!faults_.empty(), "a user error needs a fault");
}

void FaultList::add_to_column(Fault fault) {
  const auto first = std::find_if(faults_.begin(), faults_.end(), [&](const Fault& one) {
    return one.place.file == fault.place.file && one.place.field == fault.place.field &&
           one.expected == fault.expected && one.remedy == fault.remedy;
  });
  if (first == faults_.end()) {
    add(std::move(fault));
  } else {
    ++first->rows_alike;
  }
}

std::size_t FaultList::count() const {
  std::size_t count = faults_.size();
  for (const Fault& fault : faults_) count += static_cast<std::size_t>(fault.rows_alike);
  return count;
}

void FaultList::throw_if_any() const {
  if (!faults_.empty()) throw UserError(faults_);
}

std::string quoted(const std::string& text) {
  std::string out = "\"";
  std::size_t shown = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const unsigned char c = static_cast<unsigned char>(text[i]);
    const bool continuation = (c & 0xC0U) == 0x80U;
    if (shown >= 60 && !continuation) return out + "...\"";
    if (c < 0x20 || c == 0x7F) {
      char hex[8];
      (void)std::snprintf(hex, sizeof hex, "\\x%02X", c);
      out += hex;
    } else {
      out += text[i];
    }
    if (!continuation) ++shown;
  }
  return out + '"';
}

namespace {

// Letters put in, left out, changed, or swapped with their neighbour (optimal string alignment: F. J.
// Damerau, CACM 7, 1964, no letter changed twice); upper and lower case are alike.
std::size_t slips_between(const std::string& a, const std::string& b) {
  std::vector<std::vector<std::size_t>> slips(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
  const auto alike = [&](std::size_t i, std::size_t j) { return to_lower(a[i - 1]) == to_lower(b[j - 1]); };
  for (std::size_t i = 0; i <= a.size(); ++i) {
    for (std::size_t j = 0; j <= b.size(); ++j) {
      if (i == 0 || j == 0) {
        slips[i][j] = i + j;
        continue;
      }
      slips[i][j] =
          std::min({slips[i - 1][j] + 1, slips[i][j - 1] + 1, slips[i - 1][j - 1] + (alike(i, j) ? 0 : 1)});
      if (i > 1 && j > 1 && alike(i, j - 1) && alike(i - 1, j)) {
        slips[i][j] = std::min(slips[i][j], slips[i - 2][j - 2] + 1);
      }
    }
  }
  return slips[a.size()][b.size()];
}

}  // namespace

std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  std::string best;
  std::size_t fewest = word.size() < 5 ? 2 : 3;
  fewest = std::min(fewest, word.size());
  for (const std::string& candidate : known) {
    const std::size_t slips = slips_between(word, candidate);
    if (slips < fewest) {
      fewest = slips;
      best = candidate;
    }
  }
  if (!best.empty() || word.empty()) return best;
  for (const std::string& candidate : known) {
    if (candidate.compare(0, word.size(), word) != 0) continue;
    if (!best.empty()) return "";  // the start of several
    best = candidate;
  }
  return best;
}

}  // namespace frostcal::errors
