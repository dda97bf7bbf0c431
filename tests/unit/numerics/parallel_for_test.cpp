#include "numerics/parallel_for.hpp"

#include <catch2/catch.hpp>
#include <stdexcept>
#include <vector>

#include "support/no_threads.hpp"

using namespace frostcal;

TEST_CASE("all work is done where no further thread can be started", "[numerics][parallel_for]") {
  const test::NoThreads none;
  std::vector<int> done(1000, 0);
  numerics::parallel_for(done.size(), [&](std::size_t i) { ++done[i]; });
  CHECK(done == std::vector<int>(1000, 1));
  CHECK_THROWS_AS(numerics::parallel_for(9,
                                         [](std::size_t i) {
                                           if (i == 4) throw std::runtime_error("4");
                                         }),
                  std::runtime_error);
}
