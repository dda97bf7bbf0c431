#include <malloc.h>

#include <iostream>

#include "cli/dispatch.hpp"

int main(int argc, char** argv) {
  // Fits make and drop matrices of some MB all the time; keep their pages instead of asking for new ones.
  mallopt(M_MMAP_THRESHOLD, 32 << 20);
  mallopt(M_TRIM_THRESHOLD, 128 << 20);
  const frostcal::cli::Streams streams{std::cin, std::cout, std::cerr};
  return static_cast<int>(frostcal::cli::dispatch({argv + 1, argv + argc}, streams));
}
