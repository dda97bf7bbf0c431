// A cumulative-link model without prior on any table of graded things: for a reader who knows ordinal
// regression, and to compare with what other programs compute. Decisions never rest on it.
#pragma once

#include <Eigen/Core>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "errors/user_error.hpp"
#include "surface/cumulative_link.hpp"

namespace frostcal::surface {

/// Which columns of the file are what.
struct PlainColumns {
  std::string grade;                             // whole numbers; their order is that of the grades
  std::vector<std::string> by;                   // explanatory columns
  std::map<std::string, std::string> reference;  // column -> level that the others are compared with
  std::string weight;                            // how often a row was seen; empty = once each
};

/// One row per row of the file with a weight above 0.
struct PlainOrdinal {
  std::vector<long long> grades;          // those that occur, ascending
  std::vector<std::string> coefficients;  // "gpa" for a column of numbers, "tempwarm" for level warm of temp
  Eigen::MatrixXd design;                 // rows x coefficients
  std::vector<int> category;              // rows, index into grades
  Eigen::VectorXd weight;                 // rows
};

/// A column whose cells are all numbers counts as a number; any other, and any with a reference, as names,
/// each but the reference (else the first in byte order) with an indicator of its own. Every fault is added
/// to the list; with any, the result is not to be used.
PlainOrdinal parse_plain(std::string_view text, const std::string& name, const PlainColumns& columns,
                         errors::FaultList& faults);

struct PlainFit {
  NewtonStatus status = NewtonStatus::converged;
  bool separated = false;  // the likelihood has no finite maximum that the data can place
  int iterations = 0;
  double log_likelihood = 0;
  Eigen::VectorXd coefficients;  // and standard errors from the observed information
  Eigen::VectorXd coefficient_errors;
  Eigen::VectorXd cutpoints;  // P(grade <= j) = F(cutpoint_j - design row * coefficients)
  Eigen::VectorXd cutpoint_errors;
};

/// Maximum likelihood. Standard errors are empty when the information is singular.
PlainFit fit_plain(const PlainOrdinal& data, Link link);

}  // namespace frostcal::surface
