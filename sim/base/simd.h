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

// The same for a function of its own, chosen when the program starts: KIRTLE_WIDE void work(...) { ... } Its
// lambdas and inlined functions come along, functions that it calls do not.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define KIRTLE_WIDE __attribute__((target_clones("default", "avx2")))
#else
#define KIRTLE_WIDE
#endif

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
