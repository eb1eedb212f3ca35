/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Comparisons of numbers, with a message that shows both. Include after cmocka.h.
 */
#ifndef CHECK_H
#define CHECK_H

#include <complex.h>
#include <math.h>

#include "../expect.h"

#define assert_close(got, want, relative)                                                          \
    do {                                                                                           \
        const double _Complex got_ = (got), want_ = (want);                                        \
        const double error_ = cabs(got_ - want_) / cabs(want_);                                    \
        if (!(error_ <= (relative)))                                                               \
            fail_msg("%s: got %.15g%+.15gj, expected %.15g%+.15gj, relative error %g", #got,       \
                     creal(got_), cimag(got_), creal(want_), cimag(want_), error_);                \
    } while (0)

#endif
