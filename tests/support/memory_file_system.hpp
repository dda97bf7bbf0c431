// A disk in memory for tests: counts calls, makes chosen ones fail, records their order, and models a power
// cut in which any part of what was not synced is lost.
#pragma once

#include <functional>
#include <map>
#include <random>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "textfile/file_system.hpp"

namespace frostcal::test {

/// Thrown out of a call at which the test cuts the power.
struct PowerCut : std::runtime_error {
  PowerCut() : std::runtime_error("power cut") {}
};

class MemoryFileSystem final : public textfile::FileSystem {
 public:
  enum class Fault { error, short_write, power_cut };

  MemoryFileSystem();

  // What the test does.
  void put(const std::string& path, const std::string& bytes,
           unsigned mode = 0644);  // durable, makes folders
  void put_folder(const std::string& path);
  void put_link(const std::string& path, const std::string& target);
  bool has(const std::string& path) const { return entries_.count(path) != 0; }
  std::string contents(const std::string& path) const;
  unsigned mode(const std::string& path) const;
  std::vector<std::string> paths() const;

  /// The n-th call from now (from 1) fails with `error`, or writes half, or cuts the power; when `for_good`,
  /// every later call that `applies` fails too.
  void fail(int nth, Fault fault, int error = 0, bool for_good = false);
  bool fault_was_reached() const { return reached_; }
  /// Writes beyond this many bytes in all files fail with ENOSPC, after writing what fits.
  void set_capacity(std::size_t bytes) { capacity_ = bytes; }
  void make_read_only(const std::string& folder) { read_only_.insert(folder); }
  void take_lock_elsewhere(const std::string& path);

  /// The power comes back: all files are closed, and each change that was not synced is lost, kept or, for a
  /// write, kept in part or as zeros, as `random` decides.
  void crash(std::mt19937& random);

  std::vector<std::string> calls;  // "open", "write", ... with the path's last name: "write a.csv"
  long waited_milliseconds = 0;

  // textfile::FileSystem
  int open(const std::string& path, int flags, unsigned mode) override;
  int close(int file) override;
  long read(int file, char* buffer, std::size_t size, std::uint64_t offset) override;
  long write(int file, const char* bytes, std::size_t size) override;
  int truncate(int file, std::uint64_t size) override;
  int sync(int file) override;
  int sync_contents(int file) override;
  int change_mode(int file, unsigned mode) override;
  int status(int file, textfile::FileStatus& status) override;
  int link_status(const std::string& path, textfile::FileStatus& status) override;
  int real_path(const std::string& path, std::string& resolved) override;
  int list(const std::string& folder, std::vector<std::string>& names) override;
  int rename(const std::string& from, const std::string& to) override;
  int remove(const std::string& path) override;
  int make_folder(const std::string& path, unsigned mode) override;
  int lock(int file) override;
  void wait_milliseconds(int milliseconds) override { waited_milliseconds += milliseconds; }
  long own_process_number() override { return 4242; }

 private:
  struct Node {
    textfile::FileKind kind = textfile::FileKind::file;
    std::string bytes;
    std::string durable_bytes;
    std::string target;  // of a link
    unsigned mode = 0644;
  };
  struct Open {
    int node = 0;
    std::string path;
    bool append = false;
    std::uint64_t position = 0;
  };
  /// A change that a crash may lose: of a file's bytes, or of a folder's entries.
  struct Change {
    int node = -1;       // of a file
    std::string folder;  // or of a folder
    bool is_write = false;
    std::uint64_t offset = 0;  // write
    std::string bytes;
    std::uint64_t size = 0;          // truncate
    std::map<std::string, int> set;  // entries: path to node, -1 = removed
  };

  int begin(const std::string& call, const std::string& path, bool can_be_interrupted = false);
  bool writable(const std::string& path) const;
  void change_entries(const std::string& folder, std::map<std::string, int> set);
  void make_durable(const std::function<bool(const Change&)>& chosen);
  void apply_to_durable(const Change& change);
  textfile::FileStatus status_of(int node) const;
  std::size_t used() const;
  int new_node(textfile::FileKind kind, unsigned mode);

  std::vector<Node> nodes_;
  std::map<std::string, int> entries_;  // path to node, as programs see it
  std::map<std::string, int> durable_entries_;
  std::map<int, Open> open_;
  std::map<int, int> locks_;  // node to file number
  std::vector<Change> pending_;
  std::set<std::string> read_only_;
  int next_file_ = 3;
  std::size_t capacity_ = ~std::size_t{0};

  int countdown_ = 0;
  Fault fault_ = Fault::error;
  int error_ = 0;
  bool for_good_ = false;
  bool reached_ = false;
  bool halve_next_ = false;
};

}  // namespace frostcal::test
