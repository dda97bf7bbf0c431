#include "textfile/checksum.hpp"

#include <boost/crc.hpp>

namespace frostcal::textfile {

std::uint32_t crc32(std::string_view bytes) {
  boost::crc_32_type sum;
  sum.process_bytes(bytes.data(), bytes.size());
  return sum.checksum();
}

std::string crc32_text(std::string_view bytes) {
  constexpr char kDigits[] = "0123456789abcdef";
  const std::uint32_t sum = crc32(bytes);
  std::string text;
  for (int shift = 28; shift >= 0; shift -= 4) text += kDigits[(sum >> shift) & 0xFU];
  return text;
}

}  // namespace frostcal::textfile
