/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reports/workbook.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/utf8.h"
#include "reports/zip.h"

/* Numbers of the formats in styles.xml. */
enum style { STYLE_HEAD = 1, STYLE_CELL, STYLE_STRONG, STYLE_NUMBER, STYLE_DAY, STYLE_MINUTE, STYLE_SECOND };

enum { COLUMN_NAME_SIZE = 4, SHEET_NAME_SIZE = 32, PATH_SIZE = 64, KEPT = 65536 };

struct sheet {
    char name[SHEET_NAME_SIZE];
    size_t rows, columns;
    bool is_filtered;
};

struct workbook {
    struct zip *zip;
    struct output *xml; /* of the part at hand: what has not gone to the archive yet */
    struct sheet *sheets;
    size_t count, capacity;
    size_t row, column; /* of the next cell, from 0 */
    bool is_row_open;
    struct arena *arena; /* for the texts of a row */
};

/* ---- XML ---- */

#define DECLARATION "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n"
#define OFFICE "http://schemas.openxmlformats.org/officeDocument/2006/"
#define PACKAGE "http://schemas.openxmlformats.org/package/2006/"
#define SHEETS "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
#define SHEET_TYPES "application/vnd.openxmlformats-officedocument.spreadsheetml."

static void send(struct workbook *book)
{
    zip_put(book->zip, output_taken(book->xml));
    output_free(book->xml);
    book->xml = output_memory();
}

static void begin_part(struct workbook *book, const char *name)
{
    zip_file(book->zip, name);
    output_print(book->xml, DECLARATION);
}

static void put_part(struct workbook *book, const char *name, const char *xml)
{
    begin_part(book, name);
    output_print(book->xml, "%s", xml);
    send(book);
}

static void put_escaped(struct output *xml, struct text text)
{
    size_t done = 0;
    for (size_t i = 0; i < text.size; i++) {
        char c = text.data[i];
        if (c != '&' && c != '<' && c != '>')
            continue;
        output_bytes(xml, text.data + done, i - done);
        output_text(xml, c == '&' ? TEXT("&amp;") : c == '<' ? TEXT("&lt;") : TEXT("&gt;"));
        done = i + 1;
    }
    output_bytes(xml, text.data + done, text.size - done);
}

/* "A", … "Z", "AA", … */
static void column_name(size_t column, char out[COLUMN_NAME_SIZE])
{
    char figures[COLUMN_NAME_SIZE];
    size_t count = 0;
    for (column++; column > 0; column = (column - 1) / 26)
        figures[count++] = (char)('A' + (column - 1) % 26);
    for (size_t i = 0; i < count; i++)
        out[i] = figures[count - 1 - i];
    out[count] = '\0';
}

/* ---- the book ---- */

static const char package_relations[] =
    "<Relationships xmlns=\"" PACKAGE "relationships\">"
    "<Relationship Id=\"rId1\" Type=\"" OFFICE "relationships/officeDocument\" Target=\"xl/workbook.xml\"/>"
    "<Relationship Id=\"rId2\" Type=\"" PACKAGE "relationships/metadata/core-properties\" "
    "Target=\"docProps/core.xml\"/></Relationships>";

static void put_core(struct workbook *book, day_number made_on, const char *title)
{
    char day[DAY_TEXT_SIZE];
    AUTO(arena) arena = arena_new();
    day_print(made_on, day);
    begin_part(book, "docProps/core.xml");
    output_text(book->xml, TEXT("<cp:coreProperties xmlns:cp=\"" PACKAGE "metadata/core-properties\" "
                                "xmlns:dc=\"http://purl.org/dc/elements/1.1/\" "
                                "xmlns:dcterms=\"http://purl.org/dc/terms/\" "
                                "xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\"><dc:title>"));
    put_escaped(book->xml, utf8_cut(utf8_shown(arena, text_of(title)), 60));
    output_print(book->xml,
                 "</dc:title><dcterms:created xsi:type=\"dcterms:W3CDTF\">%sT00:00:00Z</dcterms:created>"
                 "<dcterms:modified xsi:type=\"dcterms:W3CDTF\">%sT00:00:00Z</dcterms:modified></cp:coreProperties>",
                 day, day);
    send(book);
}

struct workbook *workbook_begin(struct output *output, day_number made_on, const char *title)
{
    struct workbook *book = memory_new(sizeof *book);
    book->zip = zip_new(output);
    book->xml = output_memory();
    book->arena = arena_new();
    put_part(book, "_rels/.rels", package_relations); /* first: by it programs tell what kind of file it is */
    put_core(book, made_on, title);
    return book;
}

void workbook_free(struct workbook *book)
{
    if (book == NULL)
        return;
    zip_free(book->zip);
    output_free(book->xml);
    memory_free(book->sheets);
    arena_free(book->arena);
    memory_free(book);
}

/* ---- cells ---- */

/* The format reads `_x0041_` as the character of that number: where a text holds such a thing as it is, its first
 * underscore is written as `_x005F_`. Source: ISO/IEC 29500-1, 22.9.2.19 ST_Xstring. */
static bool is_escape(struct text text)
{
    if (text.size < 7 || text.data[0] != '_' || text.data[1] != 'x' || text.data[6] != '_')
        return false;
    for (size_t i = 2; i < 6; i++)
        if (strchr("0123456789abcdefABCDEF", text.data[i]) == NULL)
            return false;
    return true;
}

static bool is_no_character(uint32_t number) { return (number & 0xfffe) == 0xfffe; } /* XML cannot hold them */

static bool is_simple(struct text text)
{
    for (size_t i = 0; i < text.size; i++)
        if (text.data[i] < ' ' || text.data[i] > '~' || text.data[i] == '_')
            return false;
    return text.size < 1000;
}

/* What XML can hold, at most as long as a cell may be. Source of the limit: as of WORKBOOK_ROWS. */
static struct text cell_text(struct workbook *book, struct text text)
{
    enum { LONGEST = 32767 - 1 };
    if (is_simple(text)) /* nearly all */
        return text;
    text = utf8_shown(book->arena, text);
    bool is_cut = utf8_count(text) > LONGEST;
    AUTO(output) shown = output_memory();
    size_t size;
    for (struct text left = is_cut ? utf8_cut(text, LONGEST) : text; left.size > 0;
         left = (struct text){left.data + size, left.size - size}) {
        uint32_t number;
        utf8_first(left, &number, &size);
        if (is_no_character(number))
            output_text(shown, TEXT("?"));
        else
            output_bytes(shown, left.data, size);
        if (is_escape(left))
            output_text(shown, TEXT("x005F_"));
    }
    output_text(shown, is_cut ? TEXT("…") : TEXT(""));
    return text_keep(book->arena, output_taken(shown));
}

static void begin_cell(struct workbook *book, enum style style)
{
    char column[COLUMN_NAME_SIZE];
    if (!book->is_row_open)
        output_print(book->xml, "<row r=\"%zu\">", book->row + 1);
    book->is_row_open = true;
    column_name(book->column++, column);
    output_print(book->xml, "<c r=\"%s%zu\" s=\"%d\"", column, book->row + 1, style);
}

static void text_cell(struct workbook *book, struct text text, enum style style)
{
    if (text.size == 0) {
        book->column++;
        return;
    }
    begin_cell(book, style);
    output_text(book->xml, TEXT(" t=\"inlineStr\"><is><t xml:space=\"preserve\">"));
    put_escaped(book->xml, cell_text(book, text));
    output_text(book->xml, TEXT("</t></is></c>"));
}

void workbook_text(struct workbook *book, struct text text) { text_cell(book, text, STYLE_CELL); }
void workbook_strong(struct workbook *book, struct text text) { text_cell(book, text, STYLE_STRONG); }

void workbook_number(struct workbook *book, uint64_t number)
{
    begin_cell(book, STYLE_NUMBER);
    output_print(book->xml, "><v>%" PRIu64 "</v></c>", number);
}

/* Days are counted from 30 December 1899, which is right from March 1900 on. Source: ISO/IEC 29500-1, 18.17.4.1. */
enum { DAYS_BEFORE_2000 = 36526, FIRST_RIGHT = 61 };

static bool has_date(day_number day) { return day + DAYS_BEFORE_2000 >= FIRST_RIGHT; }

static void date_cell(struct workbook *book, day_number day, int64_t seconds, enum style style)
{
    enum { SECONDS_A_DAY = 86400 };
    begin_cell(book, style);
    output_print(book->xml, "><v>%.16g</v></c>", (double)(day + DAYS_BEFORE_2000) + (double)seconds / SECONDS_A_DAY);
}

void workbook_day(struct workbook *book, day_number day)
{
    char text[DAY_TEXT_SIZE];
    day_print(day, text);
    if (has_date(day))
        date_cell(book, day, 0, STYLE_DAY);
    else
        workbook_text(book, text_of(text));
}

void workbook_when(struct workbook *book, struct text text)
{
    enum { SECONDS_A_DAY = 86400 };
    day_number day;
    moment at;
    if (day_parse(text, &day, NULL) && has_date(day))
        date_cell(book, day, 0, STYLE_DAY);
    else if (moment_parse(text, &at, NULL) && has_date(moment_day(at, 0)))
        date_cell(book, moment_day(at, 0), moment_seconds(at) % SECONDS_A_DAY,
                  moment_had_seconds(at) ? STYLE_SECOND : STYLE_MINUTE);
    else
        workbook_text(book, text);
}

void workbook_row_end(struct workbook *book)
{
    if (book->is_row_open)
        output_text(book->xml, TEXT("</row>"));
    book->is_row_open = false;
    book->row++;
    book->column = 0;
    arena_reset(book->arena);
    if (output_taken(book->xml).size > KEPT)
        send(book);
}

/* ---- sheets ---- */

/* The width that is stored for so many characters. Source: ISO/IEC 29500-1, 18.3.1.13; a figure is 7 pixels wide, and
 * 5 are its margin. */
static double stored_width(double characters) { return (double)(int)((characters * 7 + 5) / 7 * 256) / 256; }

static void put_columns(struct workbook *book, const struct sheet_column *columns, size_t count)
{
    output_text(book->xml, TEXT("<cols>"));
    for (size_t i = 0; i < count; i++)
        output_print(book->xml, "<col min=\"%zu\" max=\"%zu\" width=\"%.10g\" customWidth=\"1\"/>", i + 1, i + 1,
                     stored_width(columns[i].width));
    output_text(book->xml, TEXT("</cols>"));
}

/* "$A$1:$L$59", and "A1:L59" if `fixed` is "". */
static void put_range(struct output *xml, const struct sheet *sheet, const char *fixed)
{
    char column[COLUMN_NAME_SIZE];
    column_name(sheet->columns - 1, column);
    output_print(xml, "%sA%s1:%s%s%s%zu", fixed, fixed, fixed, column, fixed, sheet->rows);
}

static void end_sheet(struct workbook *book)
{
    if (book->count == 0)
        return;
    struct sheet *sheet = &book->sheets[book->count - 1];
    sheet->rows = book->row;
    sheet->is_filtered = sheet->is_filtered && sheet->rows > 1;
    output_text(book->xml, TEXT("</sheetData>"));
    if (sheet->is_filtered) {
        output_text(book->xml, TEXT("<autoFilter ref=\""));
        put_range(book->xml, sheet, "");
        output_text(book->xml, TEXT("\"/>"));
    }
    output_text(book->xml, TEXT("<pageMargins left=\"0.7\" right=\"0.7\" top=\"0.75\" bottom=\"0.75\" header=\"0.3\" "
                                "footer=\"0.3\"/><pageSetup paperSize=\"9\" fitToHeight=\"0\" "
                                "orientation=\"landscape\"/></worksheet>")); /* A4, all columns on a page */
    send(book);
}

static void put_sheet_head(struct workbook *book, const struct sheet_column *columns, size_t count)
{
    output_print(book->xml,
                 "<worksheet xmlns=\"" SHEETS "\"><sheetPr><pageSetUpPr fitToPage=\"1\"/></sheetPr><sheetViews>"
                 "<sheetView%s workbookViewId=\"0\"><pane xSplit=\"1\" ySplit=\"1\" topLeftCell=\"B2\" "
                 "activePane=\"bottomRight\" state=\"frozen\"/></sheetView></sheetViews>"
                 "<sheetFormatPr defaultRowHeight=\"15\"/>",
                 book->count == 1 ? " tabSelected=\"1\"" : "");
    put_columns(book, columns, count);
    output_text(book->xml, TEXT("<sheetData>"));
}

void workbook_sheet(struct workbook *book, const char *name, const struct sheet_column *columns, size_t count)
{
    char path[PATH_SIZE];
    end_sheet(book);
    VECTOR_GROW(book->sheets, book->count, book->capacity);
    struct sheet *sheet = &book->sheets[book->count++];
    *sheet = (struct sheet){.columns = count};
    snprintf(sheet->name, sizeof sheet->name, "%s", name);
    snprintf(path, sizeof path, "xl/worksheets/sheet%zu.xml", book->count);
    begin_part(book, path);
    put_sheet_head(book, columns, count);
    book->row = book->column = 0;
    for (size_t i = 0; i < count; i++)
        text_cell(book, text_of(columns[i].title), STYLE_HEAD);
    workbook_row_end(book);
}

void workbook_sheet_end(struct workbook *book) { book->sheets[book->count - 1].is_filtered = true; }

/* ---- the other parts ---- */

#define FORMAT(number, font, border, more)                                                          \
    "<xf numFmtId=\"" number "\" fontId=\"" font "\" fillId=\"0\" borderId=\"" border               \
    "\" xfId=\"0\" applyNumberFormat=\"1\" applyFont=\"1\" applyBorder=\"1\" applyAlignment=\"1\">" \
    "<alignment vertical=\"top\"" more "/></xf>"
#define WRAP " wrapText=\"1\""

/* In the order of enum style, behind what has no format. */
static const char styles[] =
    "<styleSheet xmlns=\"" SHEETS "\"><numFmts count=\"3\"><numFmt numFmtId=\"164\" formatCode=\"yyyy-mm-dd\"/>"
    "<numFmt numFmtId=\"165\" formatCode=\"yyyy-mm-dd hh:mm\"/>"
    "<numFmt numFmtId=\"166\" formatCode=\"yyyy-mm-dd hh:mm:ss\"/></numFmts>"
    "<fonts count=\"2\"><font><sz val=\"11\"/><name val=\"Arial\"/><family val=\"2\"/></font>"
    "<font><b/><sz val=\"11\"/><name val=\"Arial\"/><family val=\"2\"/></font></fonts>"
    "<fills count=\"2\"><fill><patternFill patternType=\"none\"/></fill>"
    "<fill><patternFill patternType=\"gray125\"/></fill></fills>"
    "<borders count=\"2\"><border><left/><right/><top/><bottom/><diagonal/></border>"
    "<border><left/><right/><top/><bottom style=\"thin\"><color auto=\"1\"/></bottom><diagonal/></border></borders>"
    "<cellStyleXfs count=\"1\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/></cellStyleXfs>"
    "<cellXfs count=\"8\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\" xfId=\"0\"/>" FORMAT(
        "0", "1", "1", WRAP) FORMAT("0", "0", "0", WRAP) FORMAT("0", "1", "0", WRAP) FORMAT("3", "0", "0", "")
        FORMAT("164", "0", "0", "") FORMAT("165", "0", "0", "")
            FORMAT("166", "0", "0", "") "</cellXfs>"
                                        "<cellStyles count=\"1\"><cellStyle name=\"Normal\" xfId=\"0\" "
                                        "builtinId=\"0\"/></cellStyles></styleSheet>";

static void put_types(struct workbook *book)
{
    begin_part(book, "[Content_Types].xml");
    output_text(book->xml,
                TEXT("<Types xmlns=\"" PACKAGE "content-types\"><Default Extension=\"rels\" "
                     "ContentType=\"application/vnd.openxmlformats-package.relationships+xml\"/>"
                     "<Default Extension=\"xml\" ContentType=\"application/xml\"/>"
                     "<Override PartName=\"/docProps/core.xml\" "
                     "ContentType=\"application/vnd.openxmlformats-package.core-properties+xml\"/>"
                     "<Override PartName=\"/xl/workbook.xml\" ContentType=\"" SHEET_TYPES "sheet.main+xml\"/>"
                     "<Override PartName=\"/xl/styles.xml\" ContentType=\"" SHEET_TYPES "styles+xml\"/>"));
    for (size_t i = 1; i <= book->count; i++)
        output_print(
            book->xml,
            "<Override PartName=\"/xl/worksheets/sheet%zu.xml\" ContentType=\"" SHEET_TYPES "worksheet+xml\"/>", i);
    output_text(book->xml, TEXT("</Types>"));
    send(book);
}

static void put_relations(struct workbook *book)
{
    begin_part(book, "xl/_rels/workbook.xml.rels");
    output_text(book->xml, TEXT("<Relationships xmlns=\"" PACKAGE "relationships\">"));
    for (size_t i = 1; i <= book->count; i++)
        output_print(book->xml,
                     "<Relationship Id=\"rId%zu\" Type=\"" OFFICE
                     "relationships/worksheet\" Target=\"worksheets/sheet%zu.xml\"/>",
                     i, i);
    output_print(book->xml,
                 "<Relationship Id=\"rId%zu\" Type=\"" OFFICE
                 "relationships/styles\" Target=\"styles.xml\"/></Relationships>",
                 book->count + 1);
    send(book);
}

/* What is filtered in a sheet, and the row that stands on each page. */
static void put_names(struct workbook *book)
{
    output_text(book->xml, TEXT("<definedNames>"));
    for (size_t i = 0; i < book->count; i++) {
        if (!book->sheets[i].is_filtered)
            continue;
        output_print(book->xml, "<definedName name=\"_xlnm._FilterDatabase\" localSheetId=\"%zu\" hidden=\"1\">'%s'!",
                     i, book->sheets[i].name);
        put_range(book->xml, &book->sheets[i], "$");
        output_text(book->xml, TEXT("</definedName>"));
    }
    for (size_t i = 0; i < book->count; i++)
        output_print(book->xml,
                     "<definedName name=\"_xlnm.Print_Titles\" localSheetId=\"%zu\">'%s'!$1:$1</definedName>", i,
                     book->sheets[i].name);
    output_text(book->xml, TEXT("</definedNames>"));
}

static void put_book(struct workbook *book)
{
    begin_part(book, "xl/workbook.xml");
    output_text(book->xml, TEXT("<workbook xmlns=\"" SHEETS "\" xmlns:r=\"" OFFICE "relationships\">"
                                "<bookViews><workbookView/></bookViews><sheets>"));
    for (size_t i = 0; i < book->count; i++)
        output_print(book->xml, "<sheet name=\"%s\" sheetId=\"%zu\" r:id=\"rId%zu\"/>", book->sheets[i].name, i + 1,
                     i + 1);
    output_text(book->xml, TEXT("</sheets>"));
    put_names(book);
    output_text(book->xml, TEXT("</workbook>"));
    send(book);
}

bool workbook_write(struct workbook *book, struct fault *fault)
{
    end_sheet(book);
    put_types(book);
    put_book(book);
    put_relations(book);
    put_part(book, "xl/styles.xml", styles);
    return zip_end(book->zip, fault);
}
