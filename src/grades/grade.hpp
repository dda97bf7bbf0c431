// What the operator saw on a swatch. One row is one act of grading.
#pragma once

#include <optional>
#include <string>
#include <vector>

namespace frostcal::grades {

/// What is known of one grade: it lies from lowest to highest, both included. A plain grade is both; a piece
/// that was only called good is known to reach the shop's bar, no more.
struct GradeRange {
  int lowest;
  int highest;
  GradeRange(int grade) : lowest(grade), highest(grade) {}
  GradeRange(int from, int to) : lowest(from), highest(to) {}
  bool is_plain() const { return lowest == highest; }
  friend bool operator==(const GradeRange& a, const GradeRange& b) {
    return a.lowest == b.lowest && a.highest == b.highest;
  }
  friend bool operator!=(const GradeRange& a, const GradeRange& b) { return !(a == b); }
  friend bool operator<(const GradeRange& a, const GradeRange& b) {
    return a.lowest != b.lowest ? a.lowest < b.lowest : a.highest < b.highest;
  }
};

struct GradeRow {
  std::string swatch;
  std::optional<int> frost;     // 0..5; empty = not gradable
  std::optional<int> chipping;  // 0..3; empty = not gradable
  std::string note;
  std::string grader;
  std::string graded_at;  // 2026-11-25T11:14:05Z
  int line = 0;           // in the file, from 1; 0 = not from a file
};

/// What counts for one swatch and one grader after all rows: the last frost given, and the worst chipping of
/// the last full grading and any later look (chips may appear up to a day after the burn).
struct SwatchGrade {
  std::string swatch;
  std::string grader;
  std::optional<int> frost;
  std::optional<int> chipping;
  std::string note;
  std::string graded_at;  // time of the last row but for looks that found it as it was
};

}  // namespace frostcal::grades
