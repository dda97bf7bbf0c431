// A bar with the time left, for work that takes more than a second.
#pragma once

#include <condition_variable>
#include <mutex>
#include <string>
#include <thread>

#include "cli/command.hpp"

namespace frostcal::cli {

/// One line without control codes, at most `columns` wide: "Fitting [#####----------] 7 of 20, 12 s left".
/// The time left takes the rest to go as fast as what is done; the bar and it are left out while nothing is
/// done or when `total` is 0 (unknown): "Fitting, 3 s".
std::string progress_text(const std::string& task, int done, int total, double seconds, int columns);

/// Shows `task` on standard error while it lives, from one second on, when that is a terminal; else does
/// nothing. Takes the line away in the end. Nothing else may be written to standard error meanwhile.
class ProgressBar {
 public:
  ProgressBar(const Streams& streams, std::string task);
  /// The same on a terminal named by its file number.
  ProgressBar(int terminal, std::string task);
  ~ProgressBar();
  ProgressBar(const ProgressBar&) = delete;
  ProgressBar& operator=(const ProgressBar&) = delete;

  void set_done(int done, int total);

 private:
  void start();
  void run();
  void show(const std::string& line);

  int terminal_ = -1;
  std::string task_;
  int total_ = 0;
  std::mutex mutex_;
  std::condition_variable ended_;
  bool end_ = false;
  int done_ = 0;
  std::size_t shown_ = 0;  // length of the line on the terminal
  std::thread ticker_;
};

}  // namespace frostcal::cli
