/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Writing a ZIP archive of deflated files (ISO/IEC 21320-1), one after the other. Each is squeezed in memory and goes
 * to the output, which is borrowed, when it is whole; the output remembers what cannot be written. All files are of 1
 * January 1980, so that the same files give the same bytes.
 *
 *     AUTO(zip) zip = zip_new(output);
 *     zip_file(zip, "xl/workbook.xml");
 *     zip_put(zip, TEXT("<workbook>"));
 *     …
 *     return zip_end(zip, fault); */
#ifndef ASSIZE_REPORTS_ZIP_H
#define ASSIZE_REPORTS_ZIP_H

#include "base/output.h"

struct zip;
struct zip *zip_new(struct output *output);
void zip_free(struct zip *zip); /* gives up */
OWNER(zip);

void zip_file(struct zip *zip, const char *name); /* ends the one before */
void zip_put(struct zip *zip, struct text bytes); /* more of the last file */

/* Ends the last file and lists all; a fault if one of them or the whole is too large for the format (4 GiB). */
bool zip_end(struct zip *zip, struct fault *fault);

#endif
