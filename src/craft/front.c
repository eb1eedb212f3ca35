/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trade-offs that are shown: those of the search, checked with all that bends, and the picks.
 */
#include "private.h"

#define SHOWN 24          /* checked and shown */
#define WORTH_SHOWING 0.5 /* of the best absorption */

/* Picks are trade-offs as well, and better polished ones. */
static void add_picks(const ebb_craft *craft, ebb_craft_store *store)
{
    for (size_t i = 0; i < craft->n_picks; i++) {
        const ebb_craft_pick *p = &craft->pick[i];
        ebb_craft_one one = {.recipe = p->recipe, .merit = p->merit};
        if (p->passes && p->aim != EBB_CRAFT_NEAREST)
            ebb_craft_store_add(store, &one);
    }
}

static ebb_status check_front(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_store *checked)
{
    ebb_craft_store *rough = work->store;
    ebb_status status[SHOWN] = {EBB_OK};
    ebb_craft_store_thin(rough, SHOWN);
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < rough->n; i++)
        status[i] =
            ebb_craft_merit_of(NULL, &work->full, &rough->one[i].recipe, &rough->one[i].merit);
    for (size_t i = 0; i < rough->n; i++) {
        const ebb_craft_merit *m = &rough->one[i].merit;
        if (status[i] != EBB_OK)
            return ebb_fail(ctx, status[i], "a box could not be calculated");
        work->craft->checked++;
        if (ebb_craft_breach(m, WORTH_SHOWING / EBB_CRAFT_NEARLY * work->craft->required) == 0)
            ebb_craft_store_add(checked, &rough->one[i]);
    }
    return EBB_OK;
}

ebb_status ebb_craft_front_make(ebb_ctx *ctx, ebb_craft_work *work)
{
    ebb_craft *craft = work->craft;
    ebb_craft_store *checked = EBB_NEW(craft->arena, ebb_craft_store, 1);
    if (checked == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the trade-offs");
    const ebb_status status = check_front(ctx, work, checked);
    if (status != EBB_OK)
        return status;
    add_picks(craft, checked);
    ebb_craft_store_thin(checked, SHOWN);
    ebb_craft_recipe *recipe = EBB_NEW(craft->arena, ebb_craft_recipe, checked->n);
    ebb_craft_merit *merit = EBB_NEW(craft->arena, ebb_craft_merit, checked->n);
    if (recipe == NULL || merit == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the trade-offs");
    for (size_t i = 0; i < checked->n; i++) {
        recipe[i] = checked->one[i].recipe;
        merit[i] = checked->one[i].merit;
    }
    craft->n_front = checked->n;
    craft->front = recipe;
    craft->front_merit = merit;
    return EBB_OK;
}
