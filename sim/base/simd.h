#pragma once
// Loops over pixels in two builds: for any processor, and for those with AVX2. Both do the same operations in
// the same order, and nothing is contracted, so their results are the same to the last bit.
//
//   KIRTLE_INLINE void work_on(...) { ... }                      // the loop, once
//   KIRTLE_AVX2 void work_avx2(...) { work_on(...); }
//   void work(...) { if (has_avx2()) work_avx2(...); else work_on(...); }
#if defined(__x86_64__) && defined(__GNUC__)
#define KIRTLE_AVX2 __attribute__((target("avx2")))
#else
#define KIRTLE_AVX2
#endif
#define KIRTLE_INLINE [[gnu::always_inline]] inline

namespace kirtle {

inline bool has_avx2() {
#if defined(__x86_64__) && defined(__GNUC__)
  static const bool there = __builtin_cpu_supports("avx2") != 0;
  return there;
#else
  return false;
#endif
}

}  // namespace kirtle
