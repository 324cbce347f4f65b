/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the fuzz targets share. Each is a file of tests/hostile/fuzz with one function, which is given bytes that were
 * made up (libFuzzer, https://llvm.org/docs/LibFuzzer.html) or kept from earlier (replay.c) and must neither crash nor
 * break what it requires. Targets are run from the top folder of the sources. */
#ifndef ASSIZE_FUZZ_H
#define ASSIZE_FUZZ_H

#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

/* Says what does not hold and aborts. */
#define REQUIRE(holds) ((holds) ? (void)0 : fuzz_broken(#holds, __FILE__, __LINE__))
_Noreturn void fuzz_broken(const char *what, const char *file, int line);

static inline struct text fuzz_text(const uint8_t *data, size_t size)
{
    return (struct text){(const char *)data, size};
}

/* Takes what stands before the next `divider`, or all of it, off *rest. False: nothing is left. */
bool fuzz_part(struct text *rest, char divider, struct text *part);

/* A block that ends where the text ends, so that a read behind it shows; owned by the caller: memory_free. */
char *fuzz_copy(struct text text);

/* Lines as a reader of a log counts them: LF, CRLF and a lone CR end one. */
uint32_t fuzz_lines(struct text text);

/* A folder of this process alone, removed when it ends; a path in it (made anew at each call, static storage). */
const char *fuzz_folder(void);
const char *fuzz_path(const char *name);
void fuzz_write(const char *path, struct text bytes); /* aborts if it cannot */

#endif
