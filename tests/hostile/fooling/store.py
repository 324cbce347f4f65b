# SPDX-License-Identifier: GPL-3.0-or-later
"""The store itself, edited with the sqlite3 shell: whatever table it is, `assize verify` names it, and nothing is added to it."""
import os
import shutil
import sqlite3
import subprocess
import sys

from bench import REPORT, first_of, says


def fill_all_tables(site):
    """A second load, so that history and warnings have rows too."""
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    rows = site.rows('actions')
    site.write('actions', [row | {'colour': 'red'} for row in rows])
    site.load()
    shutil.copy(site.folder / 'assize.db', site.folder / 'whole.db')


def tables_of(site):
    with sqlite3.connect(site.folder / 'assize.db') as store:
        return [name for name, in store.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]


# What is not a table of records: an edit, and what verify must say.
EDITS = {
    'names': [("UPDATE names SET text = 'GS-99' WHERE text = 'GS-11'", 'the table names was changed'),
              ("DELETE FROM names WHERE text = 'OP-5'", 'the table names was changed'),
              ("INSERT INTO names SELECT max(name) + 1, 'OP-9', 1 FROM names", 'the table names was changed')],
    'loads': [('UPDATE loads SET day = day - 30 WHERE load = 1', 'load 1: its head does not follow'),
              ("UPDATE loads SET head = replace(head, 'a', 'b') WHERE load = 2", 'load 2: its head does not follow'),
              ('DELETE FROM loads WHERE load = 2', 'a link of load 2, which there is not'),
              ('DELETE FROM loads', 'a link of load 1, which there is not')],
    'links': [("UPDATE links SET digest = zeroblob(32) WHERE load = 1", 'load 1: its head does not follow'),
              ('DELETE FROM links WHERE load = 2', 'load 2: its head does not follow'),
              ('DELETE FROM links WHERE load = 0', 'the table audits was changed')],
    'files': [('UPDATE files SET rows = rows + 1', 'the table files was changed'),
              ('UPDATE files SET size = size - 1', 'the table files was changed'),
              ('DELETE FROM files', 'the table files was changed')],
    'standing': [('UPDATE standing SET last_n = last_n + 1', 'the table standing was changed'),
                 ('DELETE FROM standing', "a record's file or line was changed")],
    'refusals': [("UPDATE refusals SET value = '2026-10-28 11:05'", 'the table refusals was changed'),
                 ('DELETE FROM refusals', 'the table refusals was changed')],
    'warnings': [("UPDATE warnings SET text = 'nothing'", 'the table warnings was changed'),
                 ('DELETE FROM warnings', 'the table warnings was changed')],
    'history': [('UPDATE history SET line = line + 1', 'the versions that it ended are not those in history'),
                ('UPDATE history SET begun = 2', 'load 1: ninefold-mill, tests: '),
                ('DELETE FROM history', 'load 1: ninefold-mill, tests: the versions that it took are not those')],
    'audits': [('UPDATE audits SET as_of = as_of + 1', 'the table audits was changed'),
               ('DELETE FROM audits', 'the table audits was changed')],
    'audit_findings': [("UPDATE audit_findings SET state = 'answered'", 'the table audit_findings was changed'),
                       ("DELETE FROM audit_findings WHERE rule = 'lots.expired'", 'the table audit_findings was changed')],
    'audit_sites': [('UPDATE audit_sites SET vouched = tests', 'the table audit_sites was changed'),
                    ('DELETE FROM audit_sites', 'the table audit_sites was changed')],
    'seal': [],  # what it is for: the_seal_made_to_fit
}


def edits_of_kind(kind):
    one = f'n = (SELECT max(n) FROM "{kind}")'
    return [(f'UPDATE "{kind}" SET note = \'checked\' WHERE {one}', f'ninefold-mill, {kind}: '),
            (f'UPDATE "{kind}" SET line = line + 1 WHERE {one}', f"{kind}: a record's file or line was changed"),
            (f'UPDATE "{kind}" SET load = 3 WHERE {one}', f'ninefold-mill, {kind}: '),
            (f'DELETE FROM "{kind}" WHERE {one}', f'ninefold-mill, {kind}: the versions that it took are not those'),
            (f'CREATE TEMP TABLE t AS SELECT * FROM "{kind}" WHERE {one}; UPDATE t SET n = n + 1;'
             f' INSERT INTO "{kind}" SELECT * FROM t', f'ninefold-mill, {kind}: the versions that it took are not those')]


def each_table_edited(site):
    fill_all_tables(site)
    if site.verify().status != 0:
        return f'not whole to begin with: {site.told}'
    wrong = []
    for table in tables_of(site):
        for edit, found in EDITS[table] if table in EDITS else edits_of_kind(table):
            shutil.copy(site.folder / 'whole.db', site.folder / 'assize.db')
            site.sql(edit)
            site.told = ''
            site.verify()
            if site.status != 1 or found not in site.told:
                wrong.append(f'{edit}: status {site.status}, {site.told.strip()}')
            wrong += added_to(site, edit)
    return '; '.join(wrong) or None


def added_to(site, edit):
    """Whether a load takes the edited store for its own."""
    store = site.folder / 'assize.db'
    before, site.told = store.read_bytes(), ''
    site.load()
    refused = site.status == 2 and 'was changed by another program and is broken: ' in site.told
    return [] if refused and store.read_bytes() == before else [f'{edit}: load: status {site.status}, {site.told.strip()}']


def the_result_of_one_test_set_right(site):
    """The edit a fooler would make, then an audit: it refuses, the report stands, and verify says the same."""
    report = site.folder / REPORT / 'findings.json'
    before = report.read_bytes()
    site.sql("UPDATE tests SET result = '14.0' WHERE test = 'T-1621'")
    broken = 'load 1: ninefold-mill, tests: the versions that it took are not those'
    wrong = says(site.audit(), f'was changed by another program and is broken: {broken}')
    if wrong or site.status != 2 or report.read_bytes() != before:
        return wrong or f'audit: status {site.status}'
    site.run('fixlist', str(site.folder), '--month', '2026-10')
    return first_of(says(site, 'was changed by another program since it was written'), says(site.verify(), broken),
                    None if site.status == 1 else f'status {site.status}')


def the_seal_made_to_fit(site):
    """Whoever knows how the store tells that it was edited can hide that from a load, not from verify."""
    site.sql("BEGIN; UPDATE tests SET result = '14.0' WHERE test = 'T-1621'; UPDATE seal SET changes = changes + 1; COMMIT")
    return first_of(says(site.audit().verify(), 'load 1: ninefold-mill, tests: the versions that it took are not those'),
                    None if site.status == 1 else f'status {site.status}')


def changed_without_harm(site):
    """A store that another program touched and left whole is loaded into as before."""
    site.sql('VACUUM')
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    site.load().verify()
    return None if site.status == 0 and 'tests 897 0 1 0 1' in site.told else f'status {site.status}: {site.told}'


def changed_by_assize_alone(site):
    for result in ('14.0', '13.9', '13.8'):
        site.change('tests', {'test': 'T-1621'}, result=result)
        site.load().run('fixlist', str(site.folder), '--month', '2026-10')
    return f'it is told as an edit: {site.told[-200:]}' if 'was changed by another program' in site.told else None


def edited_while_changes_are_not_counted(site):
    """With a log ahead (WAL) SQLite counts none; a store that was made so and is whole is set back by the next load."""
    site.sql('PRAGMA journal_mode = WAL')
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    wrong = None if site.load().verify().status == 0 else f'the load before: {site.told}'
    site.sql("PRAGMA journal_mode = WAL; UPDATE temperatures SET celsius = '4.9' WHERE celsius = '9.8'")
    return first_of(wrong, says(site.run('fixlist', str(site.folder), '--month', '2026-10'), 'was changed by another program'),
                    says(site.audit(), 'is broken: load 1: ninefold-mill, temperatures: '),
                    None if site.status == 2 else f'status {site.status}')


def a_log_ahead_of_another_store(site):
    """SQLite would read an older copy's pages as the store's own, chain and all."""
    copy = site.folder.parent / 'older.db'
    shutil.copy(site.folder / 'assize.db', copy)
    older = sqlite3.connect(copy, isolation_level=None)
    older.execute('PRAGMA journal_mode = WAL')
    older.execute('VACUUM')
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    site.load()
    ahead, before = site.folder / 'assize.db-wal', (site.folder / 'assize.db').read_bytes()
    shutil.copy(f'{copy}-wal', ahead)
    older.close()
    for command in ('load', 'verify', 'fixlist'):
        site.told = ''
        wrong = says(site.run(command, str(site.folder)), "assize.db-wal: is not assize's, and what it holds would count")
        if wrong or site.status != 2:
            return f'{command}: {wrong} status {site.status}'
    (site.folder / 'assize.db').rename(copy)
    site.told = ''
    anew = says(site.load(), "assize.db-wal: is not assize's") if site.status == 2 else f'anew: status {site.status}'
    copy.rename(site.folder / 'assize.db')
    ahead.unlink()
    if anew:
        return anew
    return None if (site.folder / 'assize.db').read_bytes() == before and site.verify().status == 0 else 'the store was changed'


def a_store_that_is_a_link(site):
    """What lies beside the file that it leads to counts."""
    disk = site.folder.parent / 'disk'
    disk.mkdir()
    (site.folder / 'assize.db').rename(disk / 's.db')
    (site.folder / 'assize.db').symlink_to(disk / 's.db')
    one = None if site.load().status == 1 else f'a link: status {site.status}'
    (disk / 's.db-wal').write_bytes(b'x')
    return first_of(one, says(site.load(), "disk/s.db-wal: is not assize's"))


def cut_off(site):
    """The path of an older copy of the store, and the journal of a change to the store as it is now that was cut off."""
    copy, store, journal = site.folder.parent / 'older.db', site.folder / 'assize.db', site.folder / 'assize.db-journal'
    shutil.copy(store, copy)
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    site.load()
    program = ('import os, sqlite3, sys\n'
               'c = sqlite3.connect(sys.argv[1], isolation_level=None)\n'
               'c.execute("PRAGMA cache_size = 1")\n'
               'c.execute("BEGIN IMMEDIATE")\n'
               'c.execute("UPDATE tests SET line = line + 1")\n'
               'c.execute("UPDATE names SET load = load + 1")\n'
               'os._exit(9)')
    before = store.read_bytes()
    subprocess.run([sys.executable, '-c', program, str(store)], check=False)
    left = journal.read_bytes()
    journal.unlink()
    store.write_bytes(before)
    return copy, left


def a_journal_of_another_time(site):
    """What a load that was cut off left beside the store lies beside an older copy of it now, which is whole without it."""
    store, journal = site.folder / 'assize.db', site.folder / 'assize.db-journal'
    copy, left = cut_off(site)
    for first in ('load', 'fixlist', 'verify'):
        shutil.copy(copy, store)
        journal.write_bytes(left)
        site.told = ''
        site.run(first, str(site.folder))
        if first != 'load' and store.read_bytes() != copy.read_bytes():
            return f'{first}: the copy was changed'
        if journal.exists() or site.verify().status != 0 or 'broken' in site.told:
            return f'{first}: {site.told}'
    return None


def journal_of(store):
    """A journal with every page of a file, as SQLite's file format, 3, has it."""
    size = int.from_bytes(store[16:18], 'big')
    pages = [store[i:i + size] for i in range(0, len(store), size)]

    def number(n):
        return n.to_bytes(4, 'big')
    head = bytes.fromhex('d9d505f920a163d7') + b''.join(number(n) for n in (len(pages), 7, len(pages), 512, size))
    return head.ljust(512, b'\0') + b''.join(
        number(i + 1) + page + number((7 + sum(page[at] for at in range(size - 200, 0, -200))) & 0xffffffff)
        for i, page in enumerate(pages))


def a_journal_that_would_take_loads_back(site):
    """What it makes of the store is whole: the loads were done all the same, whatever became of the store since."""
    store, journal = site.folder / 'assize.db', site.folder / 'assize.db-journal'
    left = journal_of(store.read_bytes())
    for result in ('14.0', '14.1'):
        site.change('tests', {'test': 'T-1621'}, result=result)
        site.load()
    done = store.read_bytes()
    for edit, whole in (('', True), ('VACUUM', True), ("UPDATE temperatures SET celsius = '4.9' WHERE celsius = '9.8'", False)):
        store.write_bytes(done)
        site.sql(edit)
        after = store.read_bytes()
        journal.write_bytes(left)
        site.told = ''
        site.run('fixlist', str(site.folder), '--month', '2026-10')
        if store.read_bytes() != after or journal.exists() == whole or ('does not mend it' in site.told) == whole:
            return f'{edit!r}: {site.told[-300:]}'
        journal.unlink(missing_ok=True)
    return None


def a_first_page_torn_beside_its_journal(site):
    """Which has the page as it was; and whoever gives the next command must know that the change is taken back."""
    store, journal = site.folder / 'assize.db', site.folder / 'assize.db-journal'
    before = store.read_bytes()
    left = journal_of(before)
    for torn in (bytes(512), bytes(4096), b'torn' * 1024):
        for command in ('verify', 'load'):
            store.write_bytes(torn + before[len(torn):])
            journal.write_bytes(left)
            site.told = ''
            site.run(command, str(site.folder))
            if site.status == 2 or 'a change that had been cut off was taken back' not in site.told or journal.exists():
                return f'{len(torn)} bytes, {command}: {site.status}: {site.told[-300:]}'
            if site.verify().status != 0 or store.read_bytes() != before and command == 'verify':
                return f'{len(torn)} bytes, {command}: {site.told[-300:]}'
    return None


def an_answer_beside_a_change_that_was_cut_off(site):
    """It settles the change as other commands do, and is not kept out by its own lock."""
    _, left = cut_off(site)
    (site.folder / 'assize.db-journal').write_bytes(left)
    number = site.findings('controls.frequency')[0]['finding']
    done = site.run('answer', str(site.folder), number, '--problem', 'forgotten', '--owner', 'OP-1', '--today', '2026-11-05')
    return None if done.status == 0 else f'says {site.told[-300:]!r}'


def a_journal_that_does_not_mend(site):
    """Beside an older copy that another program touched: it stays as it is, and is refused as long as it does not fit."""
    store, journal = site.folder / 'assize.db', site.folder / 'assize.db-journal'
    copy, left = cut_off(site)
    for edit, whole in (("UPDATE temperatures SET celsius = '4.9' WHERE celsius = '9.8'", False), ('VACUUM', True)):
        shutil.copy(copy, store)
        site.sql(edit)
        before = store.read_bytes()
        for first in ('audit', 'fixlist'):
            store.write_bytes(before)
            journal.write_bytes(left)
            for command in (first, 'fixlist', 'verify') if whole else (first, 'audit', 'fixlist', 'load'):
                site.told = ''
                site.run(command, str(site.folder), *(('--month', '2026-10') if command in ('audit', 'fixlist') else ()))
                if whole and (journal.exists() or 'broken' in site.told):
                    return f'{edit}, {first}, then {command}: {site.told[-300:]}'
                if not whole and (site.status != 2 or store.read_bytes() != before or 'does not mend it' not in site.told):
                    return f'{edit}, {first}, then {command}: status {site.status}: {site.told[-300:]}'
        journal.unlink(missing_ok=True)
    return None


def a_schema_number_that_hides_an_edit(site):
    site.sql("UPDATE temperatures SET celsius = '4.9' WHERE celsius = '9.8'; PRAGMA user_version = 3")
    return says(site.run('fixlist', str(site.folder), '--month', '2026-10'), 'was changed by another program')


def a_journal_that_names_a_file(site):
    """SQLite removes that file when it plays such a journal in; assize never writes one."""
    victim, journal = site.folder.parent / 'letter.txt', site.folder / 'assize.db-journal'
    site.sql("UPDATE temperatures SET celsius = celsius WHERE celsius = '9.8'")
    victim.write_text('dear sir')
    name = str(victim).encode()
    header = bytes.fromhex('d9d505f920a163d7') + b'\0' * 4 + b'\1' * 4 + len((site.folder / 'assize.db').read_bytes()).to_bytes(4, 'big')
    header += (512).to_bytes(4, 'big') + (4096).to_bytes(4, 'big')
    end = name + len(name).to_bytes(4, 'big') + sum(name).to_bytes(4, 'big') + bytes.fromhex('d9d505f920a163d7')
    journal.write_bytes(header.ljust(512, b'\0') + (1 << 18 | 1).to_bytes(4, 'big') + end)
    wrong = [says(site.run(command, str(site.folder)), 'assize.db-journal: is not assize\'s, and names a file')
             for command in ('verify', 'load', 'fixlist')]
    return first_of(*wrong, None if victim.exists() else 'the file is gone')


def a_pipe_beside_the_store(site):
    """SQLite would wait for its writer for ever."""
    pipe = site.folder / 'assize.db-journal'
    os.mkfifo(pipe)
    wrong = says(site.verify(), 'assize.db-journal: is no file: move it away')
    pipe.unlink()
    return wrong


def a_folder_called_as_an_address(site):
    """SQLite takes a name that begins with file: for another file, where it was built so."""
    other = site.folder.parent / f'file:{site.folder.name}'
    shutil.copytree(site.folder, other)
    before = (site.folder / 'assize.db').read_bytes()
    log = other / 'records/tests.csv'
    log.write_text(''.join(log.read_text(encoding='utf-8').splitlines(keepends=True)[:-1]), encoding='utf-8')
    site.run('load', other.name)
    same = (site.folder / 'assize.db').read_bytes() == before
    (other / 'assize.db').unlink()
    site.run('load', other.name)
    made = (other / 'assize.db').exists()
    shutil.rmtree(other)
    return first_of(None if same else 'the other store was changed', None if made else f'no store was made: {site.told}')


def a_store_moved_aside(site):
    """Under whatever name it lies, it stays."""
    for name in ('assize.db.new', 'assize.db.new-x', 'assize.db.new-7000001', 'old.db'):
        (site.folder / 'assize.db').rename(site.folder / name)
        before = (site.folder / name).read_bytes()
        site.load()
        if not (site.folder / name).exists() or (site.folder / name).read_bytes() != before:
            return f'{name} is gone'
    letter = site.folder / 'assize.db.new-7000002/letter'
    letter.parent.mkdir()
    letter.write_text('dear sir')
    site.load()
    return None if letter.exists() else 'a folder is gone'


def values_of_another_type(site):
    """SQLite does not find them by the number that they are read as."""
    before = (site.folder / 'assize.db').read_bytes()
    for table, change in (('temperatures', 'cast(site AS blob)'), ('tests', 'site + 0.5'), ('lots', "site || 'x'"),
                          ('audit_sites', 'cast(site AS blob)')):
        (site.folder / 'assize.db').write_bytes(before)
        site.sql(f'UPDATE {table} SET site = {change}')
        site.told = ''
        wrong = first_of(says(site.verify(), f'the table {table} holds a value of another type than its column'),
                         says(site.audit(), 'is broken: '), None if site.status == 2 else f'status {site.status}')
        if wrong:
            return f'{table}: {wrong}'
    return None


def an_index_that_lacks_a_row(site):
    """Who reads by it does not see the reading; its row is in the table all the same."""
    site.sql(".dbconfig defensive off\n.dbconfig writable_schema on\n"
             "CREATE INDEX own ON temperatures(site) WHERE celsius <> '9.8';"
             "UPDATE sqlite_schema SET sql = 'CREATE INDEX own ON temperatures(site)' WHERE name = 'own';")
    return first_of(says(site.verify(), 'broken: the file is damaged: row 121 missing from index own'),
                    says(site.audit(), 'is broken: the file is damaged'), None if site.status == 2 else f'status {site.status}')


def a_trigger_hidden_in_the_store(site):
    """It would not run; but what assize did not make has no place there."""
    site.sql("CREATE TRIGGER quiet AFTER INSERT ON tests BEGIN UPDATE tests SET result = '5.0' WHERE n = NEW.n; END")
    return first_of(says(site.verify(), "broken: the file holds 'quiet', which assize did not make"),
                    says(site.load(), "the file holds 'quiet'"), None if site.status == 2 else f'status {site.status}')


def an_index_called_as_sqlites_own(site):
    """Two sites of an audit cannot both be kept then, and the later one takes the other's place."""
    site.sql(".dbconfig defensive off\n.dbconfig writable_schema on\nCREATE UNIQUE INDEX own ON audit_sites(site);"
             "UPDATE sqlite_schema SET name = 'sqlite_statx', sql = 'CREATE UNIQUE INDEX sqlite_statx ON audit_sites(site)' "
             "WHERE name = 'own';")
    return first_of(says(site.verify(), 'broken:'), says(site.load(), 'is broken'), None if site.status == 2 else f'status {site.status}')


def a_table_defined_anew(site):
    """So that it leaves out, or changes, rows that come later: all that is there is whole. With the seal made to fit, too."""
    def define(table, old, new, then):
        site.sql(".dbconfig defensive off\n.dbconfig writable_schema on\nBEGIN; UPDATE sqlite_schema SET sql = "
                 f"replace(sql, '{old}', '{new}') WHERE name = '{table}'; {then} COMMIT;")

    before = (site.folder / 'assize.db').read_bytes()
    for table, old, new in [('tests', '"recorded_at" INTEGER', '"recorded_at" INTEGER NOT NULL ON CONFLICT IGNORE'),
                            ('tests', '"specimen" TEXT', '"specimen" INT'),
                            ('history', 'next INTEGER', 'next INTEGER NOT NULL ON CONFLICT IGNORE'),
                            ('audits', 'sums BLOB', 'sums TEXT')]:
        for then in ('', 'UPDATE seal SET changes = changes + 1;'):
            (site.folder / 'assize.db').write_bytes(before)
            define(table, old, new, then)
            wrong = first_of(says(site.verify(), f'broken: the definition of {table} was changed'),
                             says(site.load(), f'the definition of {table} was changed'),
                             None if site.status == 2 else f'status {site.status}')
            if wrong:
                return f'{table}, {new}, {then}: {wrong}'
    return None


def a_table_dropped(site):
    site.sql('DROP TABLE history')
    site.verify()
    return None if site.status == 1 and 'the table history is missing' in site.told else f'status {site.status}: {site.told}'


def the_last_load_cut_off(site):
    """All tables as they were before it: such a chain is whole. The report made after it tells."""
    before = (site.folder / 'assize.db').read_bytes()
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    site.audit()
    (site.folder / 'assize.db').write_bytes(before)
    site.told = ''
    site.verify()
    if site.status != 0 or 'whole: loads 1' not in site.told:
        return f'status {site.status}: {site.told}'
    return first_of(says(site.verify(report=True), 'the chain of this store never had the head that its manifest names'),
                    None if site.status == 1 else f'status {site.status}')


def the_store_made_anew(site):
    """From logs that were changed: the head on a page that was handed out, and in the month's manifest, is none of it."""
    manifest = (site.folder / REPORT / 'manifest.txt').read_text()
    head = next(line.split()[1] for line in manifest.splitlines() if line.startswith('chain '))
    handed = site.folder.parent / 'summary.html'
    site.run('summary', str(site.folder), '--month', '2026-10', '--out', str(handed))
    if f'Head of the store’s hash chain: {head}' not in handed.read_text(encoding='utf-8'):
        return 'the head does not stand on a page that stands alone'
    (site.folder / 'assize.db').unlink()
    site.change('tests', {'test': 'T-1621'}, result='14.0')
    site.load('2026-11-02')
    return first_of(says(site.verify(report=True), 'the chain of this store never had the head that its manifest names'),
                    None if site.status == 1 else f'status {site.status}')


def a_file_that_is_no_store(site):
    (site.folder / 'assize.db').write_bytes(b'SQLite format 3\0' + b'\1' * 4000)
    site.verify()
    return None if site.status == 2 and 'assize.db' in site.told else f'status {site.status}: {site.told}'


CASES = [each_table_edited, the_result_of_one_test_set_right, the_seal_made_to_fit, changed_without_harm,
         changed_by_assize_alone, edited_while_changes_are_not_counted, an_index_that_lacks_a_row,
         a_log_ahead_of_another_store, a_pipe_beside_the_store, a_journal_that_names_a_file, a_store_that_is_a_link,
         an_answer_beside_a_change_that_was_cut_off, a_journal_of_another_time, a_first_page_torn_beside_its_journal,
         a_journal_that_would_take_loads_back, a_journal_that_does_not_mend, a_schema_number_that_hides_an_edit,
         values_of_another_type, a_folder_called_as_an_address, a_store_moved_aside,
         a_trigger_hidden_in_the_store, a_table_defined_anew, an_index_called_as_sqlites_own, a_table_dropped,
         the_last_load_cut_off, the_store_made_anew, a_file_that_is_no_store]
