// While it lives, the system starts no further thread: each would want more stack than there are addresses.
#pragma once

#include <pthread.h>

#include <stdexcept>
#include <system_error>
#include <thread>

namespace frostcal::test {

class NoThreads {
 public:
  NoThreads() {
    pthread_getattr_default_np(&before_);
    pthread_attr_t huge;
    pthread_getattr_default_np(&huge);
    pthread_attr_setstacksize(&huge, std::size_t{1} << 47U);
    pthread_setattr_default_np(&huge);
    pthread_attr_destroy(&huge);
    try {
      std::thread([] {}).join();
    } catch (const std::system_error&) {
      return;
    }
    throw std::runtime_error("a thread was started all the same");
  }
  ~NoThreads() {
    pthread_setattr_default_np(&before_);
    pthread_attr_destroy(&before_);
  }
  NoThreads(const NoThreads&) = delete;
  NoThreads& operator=(const NoThreads&) = delete;

 private:
  pthread_attr_t before_{};
};

}  // namespace frostcal::test
