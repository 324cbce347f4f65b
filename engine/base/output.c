/* SPDX-License-Identifier: GPL-3.0-or-later */
#define _XOPEN_SOURCE 700 /* realpath */

#include "base/output.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/aside.h"

struct output {
    FILE *stream; /* NULL for memory */
    char *name;   /* of a file: as the caller named it, for faults */
    char *target; /* of a file: where it goes at last; if the name is a link, what it points to */
    char *aside;  /* of a file: where it is until then; else NULL */
    int error;    /* errno of the first write that failed */
    char *bytes;  /* of memory */
    size_t size, capacity;
};

struct output *output_stream(FILE *stream)
{
    struct output *output = memory_new(sizeof *output);
    output->stream = stream;
    return output;
}

struct output *output_memory(void)
{
    struct output *output = memory_new(sizeof *output);
    output->bytes = memory_new(output->capacity = 256);
    return output;
}

struct text output_taken(const struct output *output) { return (struct text){output->bytes, output->size}; }

static bool make_parents(const char *path, struct fault *fault)
{
    char *folder = memory_copy_string(path);
    bool made = true;
    for (char *slash = strchr(folder + 1, '/'); made && slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        if (mkdir(folder, 0777) != 0 && errno != EEXIST)
            made = fault_set(fault, FAULT_FILE, "%s: cannot make the folder: %s", folder, strerror(errno));
        *slash = '/';
    }
    memory_free(folder);
    return made;
}

static char *resolve(const char *path)
{
    char *resolved = realpath(path, NULL);
    return resolved ? resolved : memory_copy_string(path);
}

/* A new file with the permissions of the one that it will replace, if there is one, and its owner where that can be. */
static FILE *open_aside(const char *aside, const char *target)
{
    struct stat old;
    int descriptor = open(aside, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (descriptor < 0)
        return NULL;
    if (stat(target, &old) == 0 && S_ISREG(old.st_mode)) {
        bool same_owner = fchown(descriptor, old.st_uid, old.st_gid) == 0;
        (void)same_owner; /* only root can give a file away */
        (void)fchmod(descriptor, old.st_mode & 0777);
    }
    return fdopen(descriptor, "w");
}

bool output_file(struct output **out, const char *path, struct fault *fault)
{
    if (!make_parents(path, fault))
        return false;
    struct output *output = memory_new(sizeof *output);
    output->name = memory_copy_string(path);
    output->target = resolve(path);
    output->aside = aside_name(output->target);
    aside_clean_files(output->target);
    output->stream = open_aside(output->aside, output->target);
    if (output->stream == NULL) {
        fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", path, strerror(errno));
        output_free(output);
        return false;
    }
    *out = output;
    return true;
}

bool output_page(struct output **out, const char *path, struct fault *fault)
{
    struct stat link, file;
    if (lstat(path, &link) == 0 && S_ISLNK(link.st_mode) && stat(path, &file) == 0 && S_ISREG(file.st_mode))
        return fault_set(fault, FAULT_USAGE, "%s: is a link to another file, which would be written over", path);
    return output_file(out, path, fault);
}

/* A rename is on the disk only when its folder is. */
static bool sync_folder_of(const char *path)
{
    char *folder = memory_copy_string(path);
    char *slash = strrchr(folder, '/');
    if (slash != NULL)
        slash[slash == folder ? 1 : 0] = '\0';
    int descriptor = open(slash ? folder : ".", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool synced = descriptor >= 0 && (fsync(descriptor) == 0 || errno == EINVAL); /* EINVAL: folders need none there */
    if (descriptor >= 0)
        close(descriptor);
    memory_free(folder);
    return synced;
}

bool output_sync_folder_of(const char *path, struct fault *fault)
{
    if (sync_folder_of(path))
        return true;
    return fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", path, strerror(errno));
}

bool output_rename(const char *from, const char *to, struct fault *fault)
{
    if (rename(from, to) == 0)
        return output_sync_folder_of(to, fault);
    return fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", to, strerror(errno));
}

static void remember(struct output *output, bool succeeded)
{
    if (!succeeded && output->error == 0)
        output->error = errno != 0 ? errno : EIO;
}

static void complete_file(struct output *output)
{
    remember(output, fsync(fileno(output->stream)) == 0);
    remember(output, fclose(output->stream) == 0);
    output->stream = NULL;
    if (output->error != 0)
        return;
    remember(output, rename(output->aside, output->target) == 0);
    if (output->error != 0)
        return;
    memory_free(output->aside);
    output->aside = NULL;
    remember(output, sync_folder_of(output->target));
}

bool output_close(struct output *output, struct fault *fault)
{
    if (output->stream != NULL)
        remember(output, fflush(output->stream) == 0);
    if (output->aside != NULL)
        complete_file(output);
    int error = output->error;
    if (error != 0)
        fault_set(fault, FAULT_FILE, "%s: cannot be written: %s", output->name ? output->name : "output",
                  strerror(error));
    output_free(output);
    return error == 0;
}

void output_free(struct output *output)
{
    if (output == NULL)
        return;
    if (output->aside != NULL) {
        if (output->stream != NULL)
            fclose(output->stream);
        unlink(output->aside);
    }
    memory_free(output->name);
    memory_free(output->target);
    memory_free(output->aside);
    memory_free(output->bytes);
    memory_free(output);
}

/* Room in memory for `size` more bytes and a NUL. */
static char *room_for(struct output *output, size_t size)
{
    size_t needed = output->size + size + 1;
    if (needed > output->capacity) {
        while (output->capacity < needed)
            output->capacity *= 2;
        output->bytes = memory_resize(output->bytes, output->capacity, 1);
    }
    return output->bytes + output->size;
}

void output_bytes(struct output *output, const void *bytes, size_t size)
{
    if (size == 0)
        return;
    if (output->stream != NULL) {
        remember(output, fwrite(bytes, 1, size, output->stream) == size);
        return;
    }
    memcpy(room_for(output, size), bytes, size);
    output->size += size;
}

void output_text(struct output *output, struct text text) { output_bytes(output, text.data, text.size); }

static void print_to_memory(struct output *output, const char *format, va_list values)
{
    va_list again;
    va_copy(again, values);
    int size = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (size < 0)
        return;
    vsnprintf(room_for(output, (size_t)size), (size_t)size + 1, format, values);
    output->size += (size_t)size;
}

void output_print(struct output *output, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    if (output->stream != NULL)
        remember(output, vfprintf(output->stream, format, values) >= 0);
    else
        print_to_memory(output, format, values);
    va_end(values);
}
