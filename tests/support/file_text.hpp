// All bytes of a file of the repository.
#pragma once

#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>

namespace frostcal::test {

/// `path` from the repository's top. Throws when there is no such file.
inline std::string file_text(const std::string& path) {
  std::ifstream file(std::string(FROSTCAL_SOURCE_DIR) + '/' + path, std::ios::binary);
  if (!file) throw std::runtime_error("no file " + path);
  return std::string(std::istreambuf_iterator<char>(file), {});
}

}  // namespace frostcal::test
