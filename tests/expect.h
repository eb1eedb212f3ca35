/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Expectations that show what was got. Include after cmocka.h. */
#ifndef TESTS_EXPECT_H
#define TESTS_EXPECT_H

#include <ebb/status.h>

#include <math.h>

#define assert_near(got, want, tolerance)                                                          \
    do {                                                                                           \
        const double got_ = (got), want_ = (want), tolerance_ = (tolerance);                       \
        if (!(fabs(got_ - want_) <= tolerance_))                                                   \
            fail_msg("%s: got %.15g, expected %.15g +- %g", #got, got_, want_, tolerance_);        \
    } while (0)

/* Success, or the message that says why not. */
#define assert_ok(ctx, call)                                                                       \
    do {                                                                                           \
        if ((call) != EBB_OK)                                                                      \
            fail_msg("%s: %s", #call,                                                              \
                     ebb_ctx_messages(ctx) ? ebb_ctx_message(ctx, 0)->text : "no message");        \
    } while (0)

#endif
