#pragma once
// Loops that are laid out for wide registers too where the processor has them, chosen when the program
// starts. The operations and their order stay the same, and contraction is off (CMakeLists.txt), so the bytes
// are those of the plain loop on every machine. Put before a function that holds such a loop: its lambdas
// and inlined functions come along, functions that it calls do not.
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(__SANITIZE_THREAD__)
#define KIRTLE_WIDE __attribute__((target_clones("default", "avx2")))
#else
#define KIRTLE_WIDE
#endif
