// Every file of the corpus, and each with a byte cut off or a bit flipped, must be read or refused.
#include <catch2/catch.hpp>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "fuzz/fuzz_targets.hpp"

using namespace frostcal;

TEST_CASE("the fuzzers' corpus is read or refused", "[fuzz]") {
  namespace fs = std::filesystem;
  for (const fuzz::Target& target : fuzz::targets()) {
    int inputs = 0;
    for (const auto& entry :
         fs::directory_iterator(fs::path(FROSTCAL_SOURCE_DIR) / "tests/fuzz/corpus" / target.name)) {
      std::ifstream file(entry.path(), std::ios::binary);
      const std::string bytes((std::istreambuf_iterator<char>(file)), {});
      INFO(entry.path().string());
      CHECK_NOTHROW(target.run(bytes));
      ++inputs;
      const std::size_t step = std::max<std::size_t>(1, bytes.size() / 40);
      for (std::size_t at = 0; at < bytes.size(); at += step) {
        INFO("damaged at " << at);
        CHECK_NOTHROW(target.run(bytes.substr(0, at)));
        std::string flipped = bytes;
        flipped[at] = static_cast<char>(flipped[at] ^ (1 << (at % 8)));
        CHECK_NOTHROW(target.run(flipped));
      }
    }
    INFO(target.name);
    CHECK(inputs >= 5);
  }
}
