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

std::optional<DataStatus> data_status_from(std::string_view text) {
  for (const DataStatus s :
       {DataStatus::measured, DataStatus::literature, DataStatus::estimated, DataStatus::invented}) {
    if (to_string(s) == text) return s;
  }
  return std::nullopt;
}

}  // namespace kirtle
