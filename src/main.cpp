#include <iostream>

#include "cli/dispatch.hpp"

int main(int argc, char** argv) {
  const frostcal::cli::Streams streams{std::cin, std::cout, std::cerr};
  return static_cast<int>(frostcal::cli::dispatch({argv + 1, argv + argc}, streams));
}
