// SPDX-License-Identifier: GPL-3.0-or-later
// run.mjs PACKAGES DATABASE FILE.sql: runs the statements of a file in a DuckDB database and prints what they answer, a
// row a line, cells divided by a blank. PACKAGES is the folder with node_modules.
import {createRequire} from 'node:module';
import {readFileSync} from 'node:fs';
import {join, resolve} from 'node:path';

const [packages, database, file] = process.argv.slice(2);
const {DuckDBInstance} = createRequire(join(resolve(packages), 'package.json'))('@duckdb/node-api');

const instance = await DuckDBInstance.create(database);
const connection = await instance.connect();
const statements = await connection.extractStatements(readFileSync(file, 'utf8'));
for (let i = 0; i < statements.count; i++) {
    const prepared = await statements.prepare(i);
    const reader = await prepared.runAndReadAll();
    for (const row of reader.getRows())
        if (row.length > 1) console.log(row.join(' '));
}
connection.closeSync();
instance.closeSync();
