/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/version.h>

const char *ebb_version(void)
{
    return EBB_VERSION;
}
