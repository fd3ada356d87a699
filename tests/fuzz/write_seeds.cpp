// kirtle-fuzz-seeds FOLDER writes the seeds of every reader to FOLDER/READER.
#include "fuzz/readers.h"
#include "plate/plate_files.h"

#include <cstdio>

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fputs("kirtle-fuzz-seeds FOLDER\n", stderr);
    return 2;
  }
  for (const kirtle::test::Reader& reader : kirtle::test::readers()) {
    const std::filesystem::path folder = std::filesystem::path(argv[1]) / reader.name;
    std::filesystem::create_directories(folder);
    int number = 0;
    for (const kirtle::test::Bytes& seed : kirtle::test::seeds_of(reader.name))
      kirtle::test::write_bytes(folder / ("seed-" + std::to_string(number++)), seed);
  }
  return 0;
}
