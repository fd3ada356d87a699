#include "base/provenance.h"

namespace kirtle {

std::string_view to_string(DataStatus s) {
  switch (s) {
    case DataStatus::measured:
      return "measured";
    case DataStatus::literature:
      return "literature";
    case DataStatus::estimated:
      return "estimated";
    case DataStatus::invented:
      return "invented";
  }
  return "invented";
}

}  // namespace kirtle
