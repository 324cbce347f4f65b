/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A store as the release with schema 3 made it, of the logs that clinic_put_older writes. */
#include "clinic.h"

static const char schema_3[] =
    "CREATE TABLE names(name INTEGER PRIMARY KEY, text TEXT NOT NULL, load INTEGER NOT NULL);"
    "INSERT INTO names VALUES(1,'operators',1), (2,'analyzers',1), (3,'lots',1), (4,'openings',1), (5,"
    "'codes',1), (6,'tests',1), (7,'controls',1), (8,'cleaning',1), (9,'training',1), (10,'temperatures',1), "
    "(11,'maintenance',1), (12,'comparisons',1), (13,'lot_checks',1), (14,'procedures',1), (15,'actions',1), "
    "(16,'clinic',1), (17,'records/operators.csv',1), (18,'records/tests.csv',1), (19,'kim',1), (20,'A1',1), "
    "(21,'op1',1), (22,'L1',1);"
    "CREATE TABLE loads(load INTEGER PRIMARY KEY, day INTEGER NOT NULL, head TEXT NOT NULL);"
    "INSERT INTO loads VALUES(1,9775,'4e8e0f9a672f8c4f6a6211ca8c160b55dd2d906625442e8ba97098a6bc58ef2a');"
    "CREATE TABLE links(site INTEGER, kind INTEGER, part INTEGER, load INTEGER, digest BLOB NOT NULL, "
    "PRIMARY KEY(site, kind, part, load)) WITHOUT ROWID;"
    "INSERT INTO links VALUES(0,0,7,1,X'560d22112b00700f37812ff3417b027984e55d4b9d425f9f9e766c12d7cede4f');"
    "INSERT INTO links VALUES(16,0,4,1,X'34bbae38290b3f39abcb15e04bb4f46f57e622902042d78f64e08c107925d84d');"
    "INSERT INTO links VALUES(16,1,1,1,X'cb5209df7bcfefaad1679b2406aa288deeef5bef3bcc6c886425ed6fbf740425');"
    "INSERT INTO links VALUES(16,1,3,1,X'4124415bb1d78b01f2ef96fe49313667765cc57a44f68cd583bc95d46366f8c4');"
    "INSERT INTO links VALUES(16,6,1,1,X'de52ba0eecf97dd3d63f731a25398a24ee23621263a9e04cc0f2d5e9bdab1d9f');"
    "INSERT INTO links VALUES(16,6,3,1,X'33720b628a72d46005790afa07db87e0a739b6e479352e7eae7fa8bf2476568f');"
    "CREATE TABLE files(site INTEGER, path INTEGER, kind INTEGER NOT NULL, digest BLOB NOT NULL, rows "
    "INTEGER NOT NULL, repeated INTEGER NOT NULL, settled INTEGER NOT NULL, refused TEXT, PRIMARY KEY(site, "
    "path)) WITHOUT ROWID;"
    "INSERT INTO files VALUES(16,17,1,X'e028b1472436fe84087b1e89b6c785ff7e6e94599ce8c5a37fef9e102bf4ee81',1,"
    "0,1,NULL);"
    "INSERT INTO files VALUES(16,18,6,X'f74d890ea8ad71b5e7049236a2b5f98cb69235022d252d20649252ea378b8084',2,"
    "0,1,NULL);"
    "CREATE TABLE refusals(site INTEGER, path INTEGER, line INTEGER, place INTEGER, nature INTEGER NOT NULL, "
    "\"column\" TEXT, value TEXT, reason TEXT NOT NULL, cells BLOB NOT NULL, PRIMARY KEY(site, path, line, "
    "place)) WITHOUT ROWID;"
    "CREATE TABLE warnings(site INTEGER, path INTEGER, place INTEGER, text TEXT NOT NULL, PRIMARY KEY(site, "
    "path, place)) WITHOUT ROWID;"
    "CREATE TABLE history(site INTEGER, kind INTEGER, n INTEGER, begun INTEGER, ended INTEGER NOT NULL, at "
    "INTEGER NOT NULL, next INTEGER, file INTEGER NOT NULL, line INTEGER NOT NULL, row BLOB, PRIMARY "
    "KEY(site, kind, n, begun)) WITHOUT ROWID;"
    "CREATE TABLE audits(audit INTEGER PRIMARY KEY, first INTEGER NOT NULL, last INTEGER NOT NULL, as_of "
    "INTEGER NOT NULL, digest BLOB NOT NULL, sums BLOB);"
    "CREATE TABLE audit_findings(number TEXT, audit INTEGER, site TEXT NOT NULL, rule TEXT, subject TEXT, "
    "state TEXT, PRIMARY KEY(number, audit)) WITHOUT ROWID;"
    "CREATE TABLE audit_sites(audit INTEGER, site TEXT, tests INTEGER NOT NULL, vouched INTEGER NOT NULL, "
    "PRIMARY KEY(audit, site)) WITHOUT ROWID;"
    "CREATE TABLE \"operators\"(site INTEGER, \"operator\" INTEGER, \"name\" TEXT, \"role\" TEXT, "
    "\"may_assess\" INTEGER, \"started_on\" INTEGER, \"left_on\" INTEGER, \"note\" TEXT, n INTEGER, file "
    "INTEGER NOT NULL, line INTEGER NOT NULL, load INTEGER NOT NULL, PRIMARY KEY(site, n)) WITHOUT ROWID;"
    "INSERT INTO operators VALUES(16,19,NULL,NULL,NULL,8098,NULL,NULL,1,17,2,1);"
    "CREATE TABLE \"tests\"(site INTEGER, \"test\" TEXT, \"performed_at\" INTEGER, \"analyzer\" INTEGER, "
    "\"method\" INTEGER, \"operator\" INTEGER, \"specimen\" TEXT, \"lot\" INTEGER, \"code\" INTEGER, "
    "\"result\" TEXT, \"unit\" INTEGER, \"collected_at\" INTEGER, \"reported_at\" INTEGER, \"notified_at\" "
    "INTEGER, \"sequence\" INTEGER, \"recorded_at\" INTEGER, \"note\" TEXT, n INTEGER, file INTEGER NOT NULL,"
    " line INTEGER NOT NULL, load INTEGER NOT NULL, PRIMARY KEY(site, \"performed_at\", n)) WITHOUT ROWID;"
    "INSERT INTO tests VALUES(16,'T1',1689012000,20,NULL,21,'S1',22,NULL,'5.4',NULL,NULL,NULL,NULL,NULL,NULL,"
    "NULL,1,18,2,1);"
    "INSERT INTO tests VALUES(16,'T2',1689013200,20,NULL,21,'S2',22,NULL,'6.0',NULL,NULL,NULL,NULL,NULL,NULL,"
    "NULL,2,18,3,1);"
    "PRAGMA application_id = 1095981637; PRAGMA user_version = 3";

void clinic_put_older(const struct clinic *clinic)
{
    clinic_put(clinic, "records/operators.csv", "operator,started_on\nkim,2022-03-04\n");
    clinic_put(clinic, "records/tests.csv",
               "test,performed_at,analyzer,operator,specimen,lot,result,note\n"
               "T1,2026-10-05 09:00,A1,op1,S1,L1,5.4,\nT2,2026-10-05 09:10,A1,op1,S2,L1,6.0,\n");
    clinic_edit(clinic, schema_3);
}
