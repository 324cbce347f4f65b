/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing text: to a file that is written aside, synced and renamed when whole; to a stream; or to memory.
 *
 * A write that fails is remembered, and output_close tells it once: callers print without looking. Nothing is visible
 * under the file's name before a successful output_close; an output that is freed without it leaves nothing behind. */
#ifndef ASSIZE_BASE_OUTPUT_H
#define ASSIZE_BASE_OUTPUT_H

#include <stdbool.h>
#include <stdint.h>
#include <stdio.h>

#include "base/fault.h"
#include "base/text.h"

struct output;
bool output_file(struct output **out, const char *path, struct fault *fault); /* parents are made */
/* The same for a page that somebody names; not through a link to a file, which may be a log. */
bool output_page(struct output **out, const char *path, struct fault *fault);
struct output *output_stream(FILE *stream); /* borrowed, flushed at close */
struct output *output_memory(void);
struct text output_taken(const struct output *output);         /* of output_memory: what was written; borrowed */
bool output_close(struct output *output, struct fault *fault); /* completes and frees it, also when it fails */
void output_free(struct output *output);                       /* gives up */
OWNER(output);

/* Gives a whole file its name, in place of what has it, for good: the folder is synced. */
bool output_rename(const char *from, const char *to, struct fault *fault);
bool output_sync_folder_of(const char *path, struct fault *fault); /* of a name that was given otherwise */

void output_bytes(struct output *output, const void *bytes, size_t size);
void output_text(struct output *output, struct text text);
void output_print(struct output *output, const char *format, ...) __attribute__((format(printf, 2, 3)));

/* JSON: names and values; commas, indents (two blanks) and escapes are the writer's. `inline_` containers stay on a
 * line. A name of NULL stands for "no name" (in lists and at the top). A byte that is no UTF-8 gives U+FFFD. */
struct json;
struct json *json_new(struct output *output); /* borrows the output */
void json_object(struct json *json, const char *name, bool inline_);
void json_list(struct json *json, const char *name, bool inline_);
void json_end(struct json *json);                                         /* of the innermost object or list */
void json_text(struct json *json, const char *name, struct text value);   /* absent gives null */
void json_string(struct json *json, const char *name, const char *value); /* NULL gives null */
void json_whole(struct json *json, const char *name, int64_t value);
void json_bool(struct json *json, const char *name, bool value);
void json_null(struct json *json, const char *name);
void json_free(struct json *json);
OWNER(json);

/* CSV (RFC 4180): quotes where needed, CRLF. */
void csv_cell(struct output *output, bool first, struct text value);
void csv_row_end(struct output *output);

#endif
