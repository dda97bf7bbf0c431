// CRC-32, the checksum that tells accidental changes of a file.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace frostcal::textfile {

/// CRC-32 as in ISO-HDLC and zip (reflected polynomial 0x04C11DB7, initial value and final xor all ones);
/// check value of "123456789": cbf43926.
std::uint32_t crc32(std::string_view bytes);

/// Eight lower-case hexadecimal digits.
std::string crc32_text(std::string_view bytes);

}  // namespace frostcal::textfile
