/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What is written is written aside, below a name with the number of the process, and gets its own name when it is
 * whole. A process that is killed leaves such a thing behind: the next one that writes the same clears it away. */
#ifndef ASSIZE_BASE_ASIDE_H
#define ASSIZE_BASE_ASIDE_H

/* PATH.new-1234; to be freed. */
char *aside_name(const char *path);

/* Gives every PATH.new-N whose process N is gone. */
typedef void aside_left_function(void *context, const char *left);
void aside_each_left(const char *path, aside_left_function *function, void *context);

/* Removes all of these; or those that are files, for a folder is somebody's where a file is written aside. */
void aside_clean(const char *path);
void aside_clean_files(const char *path);

/* Removes a file, or a folder with all that is in it, as far as it can. Links are not followed. */
void aside_remove(const char *path);

#endif
