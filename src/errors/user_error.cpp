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

std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  std::string best;
  std::size_t best_distance = std::min<std::size_t>(3, word.size());
  for (const std::string& candidate : known) {
    std::vector<std::size_t> row(candidate.size() + 1);
    for (std::size_t j = 0; j <= candidate.size(); ++j) row[j] = j;
    for (std::size_t i = 1; i <= word.size(); ++i) {
      std::size_t diagonal = row[0];
      row[0] = i;
      for (std::size_t j = 1; j <= candidate.size(); ++j) {
        const std::size_t above = row[j];
        const std::size_t change = diagonal + (to_lower(word[i - 1]) == to_lower(candidate[j - 1]) ? 0 : 1);
        row[j] = std::min({above + 1, row[j - 1] + 1, change});
        diagonal = above;
      }
    }
    if (row.back() < best_distance) {
      best_distance = row.back();
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
