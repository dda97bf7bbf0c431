// libFuzzer's entry. FROSTCAL_FUZZ_TARGET names the target of this program.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <cstring>
#include <string>

#include "fuzz/fuzz_targets.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  static const auto* const target = [] {
    for (const auto& one : frostcal::fuzz::targets()) {
      if (std::strcmp(one.name, FROSTCAL_FUZZ_TARGET) == 0) return &one;
    }
    std::abort();
  }();
  target->run(std::string(reinterpret_cast<const char*>(bytes), size));
  return 0;
}
