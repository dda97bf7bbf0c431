#include "textfile/file_lock.hpp"

#include <fcntl.h>

#include <array>
#include <cerrno>

#include "errors/system_error.hpp"
#include "textfile/number_text.hpp"

namespace frostcal::textfile {

namespace {

constexpr int kStepMilliseconds = 5;

int open_lock(const std::filesystem::path& folder, FileSystem& files) {
  const std::filesystem::path path = folder / ".lock";
  const int file = retry_interrupted(
      [&] { return files.open(path.string(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW, 0666); });
  if (file < 0) {
    throw errors::SystemError(shown(path), "open for writing", -file,
                              file == -EACCES || file == -EROFS ? "the shop folder must be writable" : "");
  }
  return file;
}

/// "process 1234 holds it", or a general remedy when the file does not say.
std::string holder(FileSystem& files, int file) {
  std::array<char, 32> buffer{};
  const long got = files.read(file, buffer.data(), buffer.size(), 0);
  const std::optional<long long> number =
      got > 0 ? parse_integer({buffer.data(), static_cast<std::size_t>(got)}) : std::nullopt;
  if (!number) return "another frostcal is writing in this shop; try again when it has finished";
  return "process " + std::to_string(*number) + " is writing in this shop; try again when it has finished";
}

}  // namespace

FileLock::FileLock(const std::filesystem::path& folder, FileSystem& files, int wait_milliseconds)
    : file_(files, open_lock(folder, files)) {
  const std::string name = shown(folder / ".lock");
  for (int waited = 0;; waited += kStepMilliseconds) {
    const int locked = retry_interrupted([&] { return files.lock(file_.number()); });
    if (locked == 0) break;
    if (locked != -EWOULDBLOCK) throw errors::SystemError(name, "lock", -locked);
    if (waited >= wait_milliseconds) {
      throw errors::SystemError(name, "lock", EWOULDBLOCK, holder(files, file_.number()));
    }
    files.wait_milliseconds(kStepMilliseconds);
  }
  // Only for the message above; a failure (a full disk, say) changes nothing.
  if (files.truncate(file_.number(), 0) == 0) {
    (void)write_all(files, file_.number(), std::to_string(files.own_process_number()) + '\n');
  }
}

}  // namespace frostcal::textfile
