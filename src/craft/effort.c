/* SPDX-License-Identifier: GPL-3.0-or-later */
/* How hard to search, and the names of what is picked. */
#include <ebb/craft.h>

void ebb_craft_effort_default(ebb_craft_effort *effort)
{
    *effort = (ebb_craft_effort){1, 4, 48, 80, true};
}

const char *ebb_craft_aim_name(ebb_craft_aim aim)
{
    static const char *const name[EBB_CRAFT_AIMS] = {"best", "lightest", "shallowest", "cheapest",
                                                     "nearest miss"};
    return aim < EBB_CRAFT_AIMS ? name[aim] : "unknown";
}
