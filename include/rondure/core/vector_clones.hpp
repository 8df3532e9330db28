// RONDURE_VECTOR_CLONES before a function: the compiler makes a copy for each generation of vector
// instructions and the loader picks the one this processor has. Nothing on other processors, under sanitizers
// (they dislike the loader's early call), and with RONDURE_NO_VECTOR_CLONES (to measure what the copies
// gain).
#pragma once
#if defined(__x86_64__) && defined(__GNUC__) && !defined(__clang__) && !defined(__SANITIZE_ADDRESS__) && \
    !defined(RONDURE_NO_VECTOR_CLONES)
#define RONDURE_VECTOR_CLONES __attribute__((target_clones("default", "arch=x86-64-v3", "arch=x86-64-v4")))
#else
#define RONDURE_VECTOR_CLONES
#endif
#define RONDURE_INLINE inline __attribute__((always_inline))
