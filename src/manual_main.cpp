// Build tool, not installed: writes the man pages and completions of the command rows into a folder.
#include <filesystem>
#include <fstream>
#include <iostream>

#include "cli/command_list.hpp"
#include "cli/manual_text.hpp"
#include "version.hpp"

namespace {

bool write(const std::filesystem::path& path, const std::string& text) {
  std::ofstream file(path, std::ios::binary);
  file << text;
  file.close();
  if (!file) std::cerr << path.string() << ": cannot write\n";
  return static_cast<bool>(file);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "usage: frostcal_manual FOLDER DATE\n";
    return 2;
  }
  namespace cli = frostcal::cli;
  const std::filesystem::path folder = argv[1];
  const std::string date = argv[2];
  std::filesystem::create_directories(folder / "man");
  bool written = write(folder / "man" / "frostcal.1", cli::overview_page(frostcal::kVersion, date)) &&
                 write(folder / "frostcal.bash", cli::bash_completion()) &&
                 write(folder / "_frostcal", cli::zsh_completion());
  for (const cli::Command& command : cli::command_list()) {
    written = written && write(folder / "man" / (cli::manual_name(command) + ".1"),
                               cli::manual_page(command, frostcal::kVersion, date));
  }
  return written ? 0 : 2;
}
