/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef ASSIZE_TESTS_PUT_H
#define ASSIZE_TESTS_PUT_H

/* Writes a file, in a folder that is made if it is not there. */
void put(const char *folder, const char *file, const char *content);

#endif
