/* SPDX-License-Identifier: GPL-3.0-or-later */
/* floor FOLDER DATABASE: what loading cannot do without. The logs of FOLDER/sites/NAME/records are split into cells and
 * checked by type, ids become numbers, the bytes are digested, and the rows go into SQLite tables without keys through
 * a virtual table, one INSERT a file. No amendments, no order, no messages for people: the first bad cell ends it. */
#include <dirent.h>
#include <fcntl.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/calendar.h"
#include "base/digest.h"
#include "records/kinds.h"

/* ---- ids as numbers ------------------------------------------------------------------------------------------------
 */

enum { SLOTS = 1 << 20 };
static struct text names[SLOTS]; /* by open addressing; a name's number is its slot */

static void die(const char *what, const char *which)
{
    fprintf(stderr, "floor: %s: %s\n", what, which);
    exit(2);
}

static int64_t name_number(struct text id)
{
    uint64_t hash = 14695981039346656037u; /* FNV-1a */
    for (size_t i = 0; i < id.size; i++)
        hash = (hash ^ (unsigned char)id.data[i]) * 1099511628211u;
    for (size_t slot = hash % SLOTS;; slot = (slot + 1) % SLOTS) {
        if (names[slot].data == NULL) {
            char *copy = memcpy(malloc(id.size), id.data, id.size);
            names[slot] = (struct text){copy, id.size};
        }
        if (text_equal(names[slot], id))
            return (int64_t)slot;
    }
}

/* ---- a file as a table of cells ------------------------------------------------------------------------------------
 */

struct value {
    struct text text; /* no data: absent, or a number */
    int64_t whole;
    bool present;
};

struct log {
    const struct record_kind *kind;
    int64_t site;
    const char *at, *end;
    bool over;
    int64_t rows;
    struct value values[COLUMNS_MOST];
};
static struct log current;

static struct text next_cell(const char **at, const char *end)
{
    if (*at < end && **at == '"') {
        const char *start = ++*at, *close = memchr(start, '"', (size_t)(end - start));
        *at = close ? close + 1 : end;
        return (struct text){start, (size_t)((close ? close : end) - start)};
    }
    const char *start = *at;
    while (*at < end && **at != ',' && **at != '\n')
        ++*at;
    return (struct text){start, (size_t)(*at - start)};
}

static bool is_number(struct text cell)
{
    size_t i = cell.data[0] == '-' || cell.data[0] == '+', digits = 0, dots = 0;
    for (; i < cell.size; i++) {
        digits += cell.data[i] >= '0' && cell.data[i] <= '9';
        dots += cell.data[i] == '.';
    }
    return digits > 0 && dots <= 1 && digits + dots + (cell.data[0] == '-' || cell.data[0] == '+') == cell.size;
}

static bool is_one_of(struct text cell, const char *const *words)
{
    for (; *words != NULL; words++)
        if (text_is(cell, *words))
            return true;
    return false;
}

static bool read_cell(const struct column *column, struct text cell, struct value *out)
{
    const char *why;
    day_number day;
    *out = (struct value){.present = cell.size > 0};
    if (cell.size == 0)
        return !(column->flags & COLUMN_REQUIRED);
    switch (column->type) {
    case CELL_DATE:
        if (!day_parse(cell, &day, &why))
            return false;
        out->whole = day;
        return true;
    case CELL_TIME:
        return moment_parse(cell, &out->whole, &why);
    case CELL_WHOLE:
        for (size_t i = 0; i < cell.size; i++)
            out->whole = out->whole * 10 + (cell.data[i] - '0');
        return is_number(cell);
    case CELL_NUMBER:
        out->text = cell;
        return is_number(cell);
    case CELL_WORD:
        out->whole = name_number(cell);
        return is_one_of(cell, column->words);
    case CELL_ID:
        if (!(column->flags & COLUMN_PLENTIFUL)) {
            out->whole = name_number(cell);
            return cell.size <= 64;
        }
        out->text = cell;
        return cell.size <= 64;
    default:
        out->text = cell;
        return cell.size <= 4000;
    }
}

static void next_row(struct log *log)
{
    log->over = log->at >= log->end;
    if (log->over)
        return;
    for (size_t i = 0; i < log->kind->column_count; i++) {
        if (!read_cell(&log->kind->columns[i], next_cell(&log->at, log->end), &log->values[i]))
            die(log->kind->name, log->kind->columns[i].name);
        if (log->at < log->end)
            log->at++;
    }
    log->rows++;
}

/* ---- the virtual table ---------------------------------------------------------------------------------------------
 */

static int feed_connect(sqlite3 *handle, void *context, int count, const char *const *words, sqlite3_vtab **out,
                        char **error)
{
    (void)context, (void)count, (void)words, (void)error;
    *out = calloc(1, sizeof **out);
    char sql[COLUMNS_MOST * 8 + 40] = "CREATE TABLE feed(site";
    for (int i = 0; i < COLUMNS_MOST; i++)
        sprintf(sql + strlen(sql), ", c%d", i);
    return sqlite3_declare_vtab(handle, strcat(sql, ")"));
}

static int feed_disconnect(sqlite3_vtab *table)
{
    free(table);
    return SQLITE_OK;
}

static int feed_best_index(sqlite3_vtab *table, sqlite3_index_info *plan)
{
    (void)table, (void)plan;
    return SQLITE_OK;
}

static int feed_open(sqlite3_vtab *table, sqlite3_vtab_cursor **out)
{
    (void)table;
    *out = calloc(1, sizeof **out);
    return SQLITE_OK;
}

static int feed_close(sqlite3_vtab_cursor *cursor)
{
    free(cursor);
    return SQLITE_OK;
}

static int feed_filter(sqlite3_vtab_cursor *cursor, int plan, const char *name, int count, sqlite3_value **values)
{
    (void)cursor, (void)plan, (void)name, (void)count, (void)values;
    next_row(&current);
    return SQLITE_OK;
}

static int feed_next(sqlite3_vtab_cursor *cursor)
{
    (void)cursor;
    next_row(&current);
    return SQLITE_OK;
}

static int feed_eof(sqlite3_vtab_cursor *cursor)
{
    (void)cursor;
    return current.over;
}

static int feed_column(sqlite3_vtab_cursor *cursor, sqlite3_context *context, int column)
{
    (void)cursor;
    const struct value *value = column > 0 ? &current.values[column - 1] : NULL;
    if (value == NULL)
        sqlite3_result_int64(context, current.site);
    else if (value->text.data != NULL)
        sqlite3_result_text(context, value->text.data, (int)value->text.size, SQLITE_STATIC);
    else if (value->present)
        sqlite3_result_int64(context, value->whole);
    return SQLITE_OK;
}

static int feed_rowid(sqlite3_vtab_cursor *cursor, sqlite3_int64 *out)
{
    (void)cursor;
    *out = current.rows;
    return SQLITE_OK;
}

static const sqlite3_module feed = {
    .xConnect = feed_connect,
    .xBestIndex = feed_best_index,
    .xDisconnect = feed_disconnect,
    .xOpen = feed_open,
    .xClose = feed_close,
    .xFilter = feed_filter,
    .xNext = feed_next,
    .xEof = feed_eof,
    .xColumn = feed_column,
    .xRowid = feed_rowid,
};

/* ---- the load ------------------------------------------------------------------------------------------------------
 */

static void run(sqlite3 *handle, const char *sql)
{
    if (sqlite3_exec(handle, sql, NULL, NULL, NULL) != SQLITE_OK)
        die(sql, sqlite3_errmsg(handle));
}

static void create_tables(sqlite3 *handle)
{
    for (size_t k = 0; k < KIND_COUNT; k++) {
        const struct record_kind *kind = kind_of((enum kind_id)k);
        char sql[2048];
        sprintf(sql, "CREATE TABLE \"%s\"(site", kind->name);
        for (size_t i = 0; i < kind->column_count; i++)
            sprintf(sql + strlen(sql), ", \"%s\"", kind->columns[i].name);
        run(handle, strcat(sql, ")"));
    }
}

static sqlite3_stmt *insert_of(sqlite3 *handle, const struct record_kind *kind)
{
    char sql[512];
    sqlite3_stmt *insert;
    sprintf(sql, "INSERT INTO \"%s\" SELECT site", kind->name);
    for (size_t i = 0; i < kind->column_count; i++)
        sprintf(sql + strlen(sql), ", c%zu", i);
    if (sqlite3_prepare_v2(handle, strcat(sql, " FROM feed"), -1, &insert, NULL) != SQLITE_OK)
        die(sql, sqlite3_errmsg(handle));
    return insert;
}

static char *read_file(const char *path, size_t *size)
{
    int file = open(path, O_RDONLY);
    struct stat about;
    if (file < 0 || fstat(file, &about) != 0)
        die("cannot read", path);
    char *bytes = malloc((size_t)about.st_size + 1);
    *size = (size_t)about.st_size;
    if (bytes == NULL || read(file, bytes, *size) != about.st_size)
        die("cannot read", path);
    close(file);
    return bytes;
}

/* The columns stand in the order of the table of kinds: the header is passed over. */
static void load_file(const char *path, int64_t site, const struct record_kind *kind, sqlite3_stmt *insert,
                      struct digest *digest)
{
    size_t size;
    char *bytes = read_file(path, &size), *header = memchr(bytes, '\n', size);
    digest_add(digest, bytes, size);
    current = (struct log){.kind = kind, .site = site, .at = header ? header + 1 : bytes + size, .end = bytes + size};
    if (sqlite3_step(insert) != SQLITE_DONE)
        die(path, "not inserted");
    sqlite3_reset(insert);
    free(bytes);
}

static int named(const struct dirent *entry) { return entry->d_name[0] != '.'; }

int main(int count, char **words)
{
    char path[4096];
    struct dirent **sites;
    sqlite3 *handle;
    if (count != 3)
        die("usage", "floor FOLDER DATABASE");
    if (sqlite3_open(words[2], &handle) != SQLITE_OK || sqlite3_create_module(handle, "feed", &feed, NULL) != SQLITE_OK)
        die(words[2], sqlite3_errmsg(handle));
    run(handle, "PRAGMA journal_mode = OFF; PRAGMA synchronous = OFF; PRAGMA page_size = 8192; BEGIN");
    create_tables(handle);
    sqlite3_stmt *inserts[KIND_COUNT];
    for (size_t k = 0; k < KIND_COUNT; k++)
        inserts[k] = insert_of(handle, kind_of((enum kind_id)k));

    struct digest *digest = digest_new();
    snprintf(path, sizeof path, "%s/sites", words[1]);
    int site_count = scandir(path, &sites, named, alphasort);
    for (int i = 0; i < site_count; i++) {
        for (size_t k = 0; k < KIND_COUNT; k++) {
            const struct record_kind *kind = kind_of((enum kind_id)k);
            snprintf(path, sizeof path, "%s/sites/%s/records/%s.csv", words[1], sites[i]->d_name, kind->name);
            load_file(path, name_number(text_of(sites[i]->d_name)), kind, inserts[k], digest);
        }
        free(sites[i]);
    }
    free(sites);
    for (size_t k = 0; k < KIND_COUNT; k++)
        sqlite3_finalize(inserts[k]);
    run(handle, "COMMIT");
    unsigned char head[DIGEST_SIZE];
    digest_end(digest, head);
    digest_free(digest);
    sqlite3_close(handle);
    int file = open(words[2], O_RDWR);
    return file >= 0 && fsync(file) == 0 ? 0 : 2;
}
