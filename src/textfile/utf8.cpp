#include "textfile/utf8.hpp"

namespace frostcal::textfile {

namespace {

/// Length of the well-formed sequence at `text`, or 0.
std::size_t sequence_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const auto within = [&](std::size_t i, unsigned low, unsigned high) {
    return i < text.size() && byte(i) >= low && byte(i) <= high;
  };
  const unsigned lead = byte(0);
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) return within(1, 0x80, 0xBF) ? 2 : 0;
  if (lead >= 0xE0 && lead <= 0xEF) {
    const unsigned low = lead == 0xE0 ? 0xA0 : 0x80;
    const unsigned high = lead == 0xED ? 0x9F : 0xBF;
    return within(1, low, high) && within(2, 0x80, 0xBF) ? 3 : 0;
  }
  if (lead >= 0xF0 && lead <= 0xF4) {
    const unsigned low = lead == 0xF0 ? 0x90 : 0x80;
    const unsigned high = lead == 0xF4 ? 0x8F : 0xBF;
    return within(1, low, high) && within(2, 0x80, 0xBF) && within(3, 0x80, 0xBF) ? 4 : 0;
  }
  return 0;
}

void append_utf8(std::string& text, unsigned long code) {
  const auto trail = [&](unsigned shift) { text += static_cast<char>(0x80U | ((code >> shift) & 0x3FU)); };
  if (code < 0x80) {
    text += static_cast<char>(code);
  } else if (code < 0x800) {
    text += static_cast<char>(0xC0U | (code >> 6U));
    trail(0);
  } else if (code < 0x10000) {
    text += static_cast<char>(0xE0U | (code >> 12U));
    trail(6);
    trail(0);
  } else {
    text += static_cast<char>(0xF0U | (code >> 18U));
    trail(12);
    trail(6);
    trail(0);
  }
}

}  // namespace

std::optional<Character> first_character(std::string_view text) {
  const std::size_t bytes = sequence_length(text);
  if (bytes == 0) return std::nullopt;
  const auto byte = [&](std::size_t i) { return static_cast<unsigned>(static_cast<unsigned char>(text[i])); };
  char32_t code = bytes == 1 ? byte(0) : byte(0) & (0x7FU >> bytes);
  for (std::size_t i = 1; i < bytes; ++i) code = (code << 6U) | (byte(i) & 0x3FU);
  return Character{code, bytes};
}

bool has_utf16_mark(std::string_view bytes) {
  const std::string_view mark = bytes.substr(0, 2);
  return mark == "\xFF\xFE" || mark == "\xFE\xFF";
}

std::optional<std::string> utf8_from_utf16(std::string_view bytes) {
  if (!has_utf16_mark(bytes) || bytes.size() % 2 != 0) return std::nullopt;
  const bool little = bytes[0] == '\xFF';
  const auto unit = [&](std::size_t at) {
    const auto byte = [&](std::size_t i) {
      return static_cast<unsigned long>(static_cast<unsigned char>(bytes[i]));
    };
    return little ? byte(at) | byte(at + 1) << 8U : byte(at) << 8U | byte(at + 1);
  };
  std::string text;
  for (std::size_t at = 2; at < bytes.size(); at += 2) {
    unsigned long code = unit(at);
    if (code >= 0xDC00 && code <= 0xDFFF) return std::nullopt;
    if (code >= 0xD800 && code <= 0xDBFF) {
      at += 2;
      if (at >= bytes.size()) return std::nullopt;
      const unsigned long low = unit(at);
      if (low < 0xDC00 || low > 0xDFFF) return std::nullopt;
      code = 0x10000 + ((code - 0xD800) << 10U) + (low - 0xDC00);
    }
    append_utf8(text, code);
  }
  return text;
}

std::optional<std::size_t> first_invalid_utf8(std::string_view text) {
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t length = sequence_length(text.substr(at));
    if (length == 0) return at;
    at += length;
  }
  return std::nullopt;
}

std::size_t character_count(std::string_view text) {
  std::size_t count = 0;
  for (const char c : text) count += (static_cast<unsigned char>(c) & 0xC0U) != 0x80U ? 1 : 0;
  return count;
}

}  // namespace frostcal::textfile
