#include "numerics/parallel_for.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <system_error>
#include <thread>
#include <vector>

namespace frostcal::numerics {
namespace {

constexpr std::size_t kMostThreads = 8;
thread_local bool inside = false;

}  // namespace

void parallel_for(std::size_t count, const std::function<void(std::size_t)>& work) {
  const std::size_t cores = std::max(1u, std::thread::hardware_concurrency());
  const std::size_t threads = inside ? 1 : std::min({count, cores, kMostThreads});
  if (threads <= 1) {
    for (std::size_t i = 0; i < count; ++i) work(i);
    return;
  }
  std::vector<std::exception_ptr> thrown(count);
  std::atomic<std::size_t> next{0};
  const auto run = [&] {
    inside = true;
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        work(i);
      } catch (...) {
        thrown[i] = std::current_exception();
      }
    }
    inside = false;
  };
  std::vector<std::thread> pool;
  pool.reserve(threads);
  try {
    for (std::size_t t = 1; t < threads; ++t) pool.emplace_back(run);
  } catch (const std::system_error&) {
    // The threads there are do the work.
  }
  run();
  for (std::thread& one : pool) one.join();
  for (const std::exception_ptr& e : thrown) {
    if (e) std::rethrow_exception(e);
  }
}

}  // namespace frostcal::numerics
