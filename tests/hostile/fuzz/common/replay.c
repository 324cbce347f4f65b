/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A target without libFuzzer: gives it the files that are named, and every file of the folders that are named, one by
 * one; then prints how many there were. What does not hold ends the program. */
#include <stdio.h>
#include <stdlib.h>

#include "fuzz.h"
#include "intake/file.h"

static size_t replayed;

static void replay(const char *path)
{
    struct folder_names names;
    if (folder_names_read(path, &names)) {
        for (size_t i = 0; i < names.count; i++) {
            char *below = path_join(path, names.names[i]);
            replay(below);
            memory_free(below);
        }
        folder_names_free(&names);
        return;
    }
    struct file_bytes bytes;
    struct fault fault = {.code = FAULT_NONE};
    if (!file_read(path, NULL, &bytes, &fault)) {
        fprintf(stderr, "%s\n", fault.text);
        exit(2);
    }
    if (getenv("FUZZ_TELL") != NULL)
        fprintf(stderr, "%s\n", path);
    LLVMFuzzerTestOneInput((const uint8_t *)bytes.data, bytes.size);
    memory_free(bytes.data);
    replayed++;
}

int main(int count, char **words)
{
    for (int i = 1; i < count; i++)
        replay(words[i]);
    printf("%zu\n", replayed);
    return 0;
}
