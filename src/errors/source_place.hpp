// Where in a file something stands, so that a message can lead the reader to it.
#pragma once

#include <string>

namespace frostcal::errors {

/// line and column count from 1; 0 means "not known". field is the key, column name or option.
struct SourcePlace {
  std::string file;
  int line = 0;
  int column = 0;
  std::string field;
};

}  // namespace frostcal::errors
