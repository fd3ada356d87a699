// A libFuzzer program of one reader, named when this is compiled.
#include "fuzz/readers.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  kirtle::test::KIRTLE_FUZZED({data, size});
  return 0;
}
