/* SPDX-License-Identifier: GPL-3.0-or-later */
/* disk.h - a disk that fills up. Include after cmocka.h. */
#ifndef DISK_H
#define DISK_H

#include <signal.h>
#include <sys/resource.h>

/* Sets how large a file may grow, with the signal turned into an error of write(). */
static inline rlim_t limit_files(rlim_t bytes)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    const rlim_t before = limit.rlim_cur;
    limit.rlim_cur = bytes;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
    signal(SIGXFSZ, bytes == before ? SIG_DFL : SIG_IGN);
    return before;
}

#endif
