#include "textfile/toml_text.hpp"

#include <catch2/catch.hpp>

#include "errors/user_error.hpp"
#include "support/memory_file_system.hpp"

using namespace frostcal;
using namespace frostcal::textfile;

namespace {

std::string refusal(const std::string& text) {
  try {
    check_toml_text(text, "a.toml");
  } catch (const errors::UserError& error) {
    return error.what();
  }
  return "";
}

}  // namespace

TEST_CASE("text that could hurt the TOML parser is refused first", "[textfile][toml_text]") {
  CHECK(refusal("[shop]\nname = \"gr\xC3\xBCn\"\n") == "");
  CHECK(refusal("\xEF\xBB\xBF[shop]\r\n") == "");
  CHECK(refusal(std::string(kMaxTomlLineBytes, 'a') + "\n") == "");
  // 30,000 dotted segments on one line overflow the parser's stack.
  std::string dotted = "[shop]\na";
  for (int i = 0; i < 30000; ++i) dotted += ".a";
  CHECK(refusal(dotted + " = 1\n") ==
        "a.toml:2: found a line of 60005 bytes, expected at most 4096 bytes in a line; check that this is "
        "the right "
        "file");
  CHECK(refusal(std::string(kMaxTomlBytes + 1, '\n')) ==
        "a.toml: found a file of 1048577 bytes, expected at most 1048576 bytes; check that this is the right "
        "file");
  CHECK(refusal(std::string("a = 1\nb\0 = 2\n", 13)) ==
        "a.toml:2:2: found a NUL byte, expected plain text; the file is damaged or not text; restore it from "
        "a copy");
  CHECK(
      refusal("name = \"gr\xFCn\"\n") ==
      "a.toml:1:11: found the byte 0xFC that is not UTF-8, expected UTF-8 text; save the file again with the "
      "character set UTF-8 (Unicode)");
}

TEST_CASE("only a plain file inside the shop is read", "[textfile][toml_text]") {
  test::MemoryFileSystem disk;
  disk.put("/shop/grids/shop.toml", "[shop]\n");
  disk.put_folder("/shop/grids/folder.toml");
  disk.put_link("/shop/grids/link.toml", "/elsewhere/shop.toml");
  disk.put("/elsewhere/shop.toml", "[shop]\n");
  disk.put("/shop/large.toml", std::string(kMaxTomlBytes + 1, '\n'));
  CHECK(read_toml_text("/shop", "/shop/grids/shop.toml", disk) == "[shop]\n");
  CHECK_THROWS_AS(read_toml_text("/shop", "/shop/grids/folder.toml", disk), errors::UserError);
  CHECK_THROWS_AS(read_toml_text("/shop", "/shop/grids/link.toml", disk), errors::UserError);
  CHECK_THROWS_AS(read_toml_text("/shop", "/shop/large.toml", disk), errors::UserError);
}
