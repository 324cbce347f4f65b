# SPDX-License-Identifier: GPL-3.0-or-later
"""Report folders made to have an audit write over what is no report: logs, settings, files of the user's."""
import hashlib
import shutil

from bench import REPORT, first_of, says

REFUSED_PLACE = 'is no place for a report'
REFUSED_FILE = 'was changed after it was written, or is no report'


def files_of(site):
    return {str(path.relative_to(site.folder)): path.read_bytes() for path in site.folder.rglob('*')
            if path.is_file() and not path.name.startswith('assize.db')}


def forged_manifest(folder, names, digest=None):
    """Lists the files, with a digest that none has or with theirs, as a report's."""
    lines = [f'{digest or hashlib.sha256((folder / name).read_bytes()).hexdigest()}  {name}\n' for name in names]
    (folder / 'manifest.txt').write_text(''.join(lines) + 'chain ' + '0' * 64 + '\n')


def unharmed(site, *wanted, out=None):
    """None if an audit is refused, says all that is wanted, and every file is as it was."""
    before = files_of(site)
    more = ['--out', str(site.folder / out)] if out is not None else []
    site.audit(*more)
    after = files_of(site)
    changed = [name for name in before | after if before.get(name) != after.get(name)]
    return first_of(says(site, *wanted), f'changed: {changed[:9]}' if changed else None,
                    None if site.status == 2 else f'status {site.status}')


def a_report_folder_that_leads_to_the_logs(site):
    """The default folder is a link to the site's own, where a manifest lists all there is."""
    shutil.rmtree(site.folder / REPORT)
    (site.folder / REPORT).symlink_to('..')
    forged_manifest(site.folder, ['site.yaml', 'assize.db', *(f'records/{log.name}' for log in (site.folder / 'records').iterdir())])
    return unharmed(site, REFUSED_PLACE)


def a_report_folder_among_the_logs(site):
    (site.folder / 'reports/up').symlink_to('../methods')
    return first_of(*(unharmed(site, REFUSED_PLACE, out=out)
                      for out in ('', '..', 'records', 'records/2026-10', 'methods', 'reports/up', 'none/../records')))


def a_manifest_of_other_files(site):
    """Neither with digests of nothing nor with the right ones does a list without a chain make files a report's."""
    out = site.folder / 'out'
    (out / 'sub').mkdir(parents=True)
    for name in ('thesis.txt', 'sub/deep.txt'):
        (out / name).write_text('mine')
    forged_manifest(out, ['thesis.txt', 'sub/deep.txt'])
    (out / 'manifest.txt').write_text((out / 'manifest.txt').read_text().split('chain')[0])
    wrong = unharmed(site, 'out/manifest.txt: ' + REFUSED_FILE, out='out')
    forged_manifest(out, ['thesis.txt', 'sub/deep.txt'], digest='0' * 64)
    site.audit('--out', str(out))
    kept = all((out / name).read_text() == 'mine' for name in ('thesis.txt', 'sub/deep.txt'))
    return first_of(wrong, None if site.status == 1 and kept else f'status {site.status}, {list(out.rglob("*"))}')


def a_file_from_elsewhere_named_as_a_report(site):
    out = site.folder / 'out'
    out.mkdir()
    (out / 'findings.html').write_text('mine')
    alone = unharmed(site, 'out/findings.html: ' + REFUSED_FILE, out='out')
    forged_manifest(out, ['findings.html'], digest='0' * 64)
    return first_of(alone, unharmed(site, 'out/findings.html: ' + REFUSED_FILE, out='out'))


def a_report_edited_is_not_lost(site):
    """An audit again gives the same report; what somebody wrote into it since would be gone."""
    page = site.folder / REPORT / 'ninefold-mill/fixlist.html'
    page.write_bytes(page.read_bytes() + b'<p>Ask Tuesday</p>')
    wrong = unharmed(site, f'{REPORT}/ninefold-mill/fixlist.html: ' + REFUSED_FILE)
    page.rename(site.folder / 'my fixlist.html')
    return wrong or (None if site.audit().status == 1 and page.exists() else f'then status {site.status}')


def a_link_in_a_report_folder(site):
    """Where a page was, or the folder of a site's: what they lead to is nobody's report."""
    pages, away = site.folder / REPORT / 'ninefold-mill', site.folder / 'away'
    pages.rename(away)
    pages.symlink_to(away)
    folder = unharmed(site, 'fixlist.html: ' + REFUSED_FILE)
    pages.unlink()
    away.rename(pages)
    (site.folder / REPORT / 'findings.csv').rename(site.folder / 'findings.csv')
    (site.folder / REPORT / 'findings.csv').symlink_to('../../findings.csv')
    return folder or unharmed(site, 'findings.csv: ' + REFUSED_FILE)


def log_sheets_written_over_a_log(site):
    before = files_of(site)
    for name in ('records/tests.csv', 'assize.db', 'site.yaml'):
        site.run('forms', str(site.folder), '--month', '2026-11', '--out', str(site.folder / name), '--today', '2026-11-05')
        if site.status != 2:
            return f'{name}: status {site.status}'
    return first_of(says(site, 'the name must end in .html'), None if files_of(site) == before else 'files were changed')


CASES = [a_report_folder_that_leads_to_the_logs, a_report_folder_among_the_logs, a_manifest_of_other_files,
         a_file_from_elsewhere_named_as_a_report, a_report_edited_is_not_lost, a_link_in_a_report_folder,
         log_sheets_written_over_a_log]
