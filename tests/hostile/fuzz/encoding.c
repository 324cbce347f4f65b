/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Encodings: what is made is UTF-8 without NUL, and gives the file's own bytes when it is turned back; a place in the
 * text is a place in the file. */
#include <string.h>

#include "base/utf8.h"
#include "common/fuzz.h"
#include "intake/encoding.h"

static void require_way_back(struct text file, struct text text, size_t start, enum encoding encoding)
{
    bool two_byte = encoding == ENCODING_UTF16_LE || encoding == ENCODING_UTF16_BE;
    size_t mark = two_byte ? 2 : start, size;
    char *back;
    REQUIRE(encoding_from_utf8(encoding, (struct text){text.data + start, text.size - start}, &back, &size));
    REQUIRE(size == file.size - mark && memcmp(back, file.data + mark, size) == 0);
    memory_free(back);
    REQUIRE(encoding_place(encoding, text, text.size) == file.size);
    size_t last = 0;
    for (size_t at = start; at < text.size; at++) {
        size_t place = encoding_place(encoding, text, at);
        REQUIRE(place >= last && place <= file.size);
        last = place;
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct text file = fuzz_text(data, size);
    char why[WHY_SIZE] = "", *bytes = fuzz_copy(file);
    size_t start = 0, text_size = size;
    const char *note = NULL;
    if (size > 4096)
        return -1; /* places are looked up one by one */
    if (!encoding_to_utf8(&bytes, &text_size, &start, &note, why)) {
        REQUIRE(*why != '\0' && memchr(why, '\0', sizeof why) != NULL);
        REQUIRE(utf8_valid_size(text_of(why)) == strlen(why));
        memory_free(bytes);
        return 0;
    }
    struct text text = {bytes, text_size};
    REQUIRE(start <= text_size && utf8_valid_size(text) == text_size);
    REQUIRE(text_size == 0 || memchr(bytes, '\0', text_size) == NULL);
    if (size > 0)
        require_way_back(file, text, start, encoding_of(file, note));
    memory_free(bytes);
    return 0;
}
