#pragma once
// Work shared over threads. Results must not depend on which thread did what: each item writes only its own
// output, so the same bytes come out on any number of threads.
#include <cstddef>
#include <functional>

namespace kirtle {

/// Threads to use when the user does not say: KIRTLE_THREADS if set and valid, else what the machine offers.
unsigned default_threads();

/// Calls work(item, worker) once for each item in [0, items), on at most `threads` threads (0 =
/// default_threads()). worker is in [0, threads) and belongs to one thread at a time, for scratch memory. The
/// first exception that an item throws stops the hand-out of further items and is thrown again here.
void parallel_for(std::size_t items, unsigned threads,
                  const std::function<void(std::size_t item, unsigned worker)>& work);

}  // namespace kirtle
