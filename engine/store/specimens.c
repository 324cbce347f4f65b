/* SPDX-License-Identifier: GPL-3.0-or-later */
/* All specimens that a site's records have ever named: of the records as they stand, and of their versions before. */
#include "store/inside.h"

struct listing {
    struct store *store;
    int64_t site;
    stored_specimen_function *function;
    void *context;
    struct fault *fault;
};

static bool list_current(const struct listing *listing)
{
    AUTO(query)
    query = query_new(&listing->store->database, listing->fault,
                      "SELECT specimen FROM tests WHERE site = ?1"
                      " UNION SELECT specimen FROM lot_checks WHERE site = ?1 ORDER BY 1");
    if (query == NULL)
        return false;
    query_bind(query, "i", listing->site);
    enum query_step step;
    while ((step = query_step(query, listing->fault)) == QUERY_ROW)
        listing->function(listing->context, query_text(query, 0));
    return step == QUERY_END;
}

static void list_version(const struct listing *listing, const struct layout *layout, struct text row)
{
    struct cell cells[COLUMNS_MOST];
    int column = layout == NULL ? -1 : kind_column(layout->kind, TEXT("specimen"));
    if (column >= 0 && store_past_cells(listing->store, layout, row, cells) && cells[column].present)
        listing->function(listing->context, cells[column].text);
}

static bool list_past(const struct listing *listing)
{
    AUTO(query)
    query = query_new(&listing->store->database, listing->fault,
                      "SELECT kind, row FROM history WHERE site = ? ORDER BY kind, n, begun");
    if (query == NULL)
        return false;
    query_bind(query, "i", listing->site);
    enum query_step step;
    while ((step = query_step(query, listing->fault)) == QUERY_ROW)
        list_version(listing, store_layout_named(listing->store, query_whole(query, 0)), query_blob(query, 1));
    return step == QUERY_END;
}

bool store_specimens(struct store *store, struct text site, stored_specimen_function *function, void *context,
                     struct fault *fault)
{
    struct listing listing = {store, names_find(store->names, site), function, context, fault};
    return list_current(&listing) && list_past(&listing);
}
