/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The innermost loops of the wave engine, compiled for several instruction sets of which the loader
 * takes the best. Products and sums of one element are the same in all of them (nothing is fused
 * or reordered), so the result does not depend on the machine. Real and imaginary parts lie apart
 * here: that is how vector instructions want them.
 */
#include "reduced.h"

#if defined(__x86_64__) && defined(__gnu_linux__) && !defined(__clang__)
#define CLONES __attribute__((target_clones("avx512f", "avx2", "default")))
#else
#define CLONES
#endif

/* Two columns at a time halve the reads and writes of the sums. */
CLONES
static void add_pair(size_t n, const double re[2], const double im[2], const double *restrict one,
                     const double *restrict two, double *restrict sum_re, double *restrict sum_im)
{
    for (size_t i = 0; i < n; i++) {
        sum_re[i] = sum_re[i] + re[0] * one[i] + re[1] * two[i];
        sum_im[i] = sum_im[i] + im[0] * one[i] + im[1] * two[i];
    }
}

CLONES
static void add_one(size_t n, double re, double im, const double *restrict one,
                    double *restrict sum_re, double *restrict sum_im)
{
    for (size_t i = 0; i < n; i++) {
        sum_re[i] += re * one[i];
        sum_im[i] += im * one[i];
    }
}

void ebb_add_columns(size_t n, size_t n_columns, const double *re, const double *im,
                     const double *const *column, double *sum_re, double *sum_im)
{
    size_t c = 0;
    for (; c + 2 <= n_columns; c += 2)
        add_pair(n, re + c, im + c, column[c], column[c + 1], sum_re, sum_im);
    if (c < n_columns)
        add_one(n, re[c], im[c], column[c], sum_re, sum_im);
}
