# SPDX-License-Identifier: GPL-3.0-or-later
"""Calendar, numerals, digests and CSV against Python's own modules."""
import calendar
import csv
import datetime
import decimal
import hashlib
import io
import math
import random
import sys

from engine import Mismatch, ask, check, compare, same

FIRST = datetime.date(2000, 1, 1)
DAYS = [FIRST + datetime.timedelta(days) for days in range(36525)]


@check
def days():
    """Every day from 2000 to 2099 has the number and the weekday of Python's datetime.

    Source: datetime.date of Python's standard library."""
    same([(f'day {day}', f'{(day - FIRST).days} {day.weekday()} {day}') for day in DAYS])


@check
def days_that_are_not():
    """Dates that datetime refuses are refused, for every year from 2000 to 2099.

    Source: datetime.date of Python's standard library."""
    cases = []
    for year in range(2000, 2100):
        for month in range(0, 14):
            for day in (0, 28, 29, 30, 31, 32):
                try:
                    datetime.date(year, month, day)
                except ValueError:
                    cases.append((f'day {year}-{month:02}-{day:02}', 'refused'))
    same(cases + [(f'day {text}', 'refused') for text in ('1999-12-31', '2100-01-01')])


@check
def months_added():
    """Months added, 20,000 times, give the same day of the month or the month's last.

    Source: the length of a month by calendar.monthrange of Python's standard library."""
    rng = random.Random(21)
    cases = []
    while len(cases) < 20000:
        day = rng.choice(DAYS)
        months = rng.choice([1, 6, 12, 24, rng.randint(-60, 60)])
        count = day.year * 12 + day.month - 1 + months
        year, month = count // 12, count % 12 + 1
        if 2000 <= year <= 2099:
            then = datetime.date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
            cases.append((f'add_months {(day - FIRST).days} {months}', str(then)))
    same(cases)


# ---- numerals -----------------------------------------------------------------------------------------------------------

def numeral(rng):
    whole = ''.join(rng.choice('0123456789') for _ in range(rng.choice([0, 1, 1, 2, 3, 9, 30])))
    fraction = ''.join(rng.choice('0001234567899') for _ in range(rng.choice([0, 1, 1, 2, 3, 9, 30])))
    if not whole and not fraction:
        whole = '0'
    return rng.choice(['', '', '', '-', '+']) + whole + ('.' + fraction if fraction else '')


def neighbour(rng, text):
    """Another spelling of the same number, or one that differs far behind the point."""
    tail = rng.choice(['', '0', '000', '0000000000000000000001'])
    return text + tail if '.' in text else text + '.' + (tail or '0')


@check
def numerals_compared():
    """Numerals of any length compare as Python's decimals do, 20,000 pairs.

    Source: decimal.Decimal of Python's standard library, whose comparisons are exact."""
    rng = random.Random(22)
    cases = []
    for _ in range(20000):
        a = numeral(rng)
        b = neighbour(rng, a) if rng.random() < 0.5 else numeral(rng)
        x, y = decimal.Decimal(a), decimal.Decimal(b)
        cases.append((f'decimal_compare {a} {b}', str((x > y) - (x < y))))
    same(cases)


def nearest_15(text):
    """The double of a numeral's first 15 digits, the next one away from zero if more than zeros follow."""
    value = decimal.Decimal(text)
    digits = ''.join(map(str, value.as_tuple().digits)).lstrip('0')
    if len(digits.rstrip('0')) <= 15:
        return float(value)
    with decimal.localcontext() as context:
        context.prec, context.rounding = 15, decimal.ROUND_DOWN
        kept = float(+value)
    return math.nextafter(kept, math.copysign(math.inf, kept))


@check
def numerals_as_doubles():
    """Numerals become the double of their first 15 digits, 20,000 times.

    Source: decimal.Decimal, and float(), which rounds a numeral correctly (IEEE 754)."""
    rng = random.Random(23)
    texts = [numeral(rng) for _ in range(20000)]
    compare([(f'decimal_double {text}', [nearest_15(text)]) for text in texts], relative=0)


@check
def numerals_keep_their_order():
    """Doubles of numerals keep the exact order against numerals of up to 15 digits, 20,000 pairs.

    Source: decimal.Decimal of Python's standard library."""
    rng = random.Random(24)
    pairs = []
    while len(pairs) < 20000:
        short = numeral(rng)
        if len(short.strip('+-').replace('.', '').strip('0')) <= 15:
            pairs.append((short, neighbour(rng, short) if rng.random() < 0.7 else numeral(rng)))
    answers = ask([f'decimal_double {text}' for pair in pairs for text in pair])
    for (short, other), x, y in zip(pairs, answers[::2], answers[1::2]):
        exact = decimal.Decimal(short).compare(decimal.Decimal(other))
        if (float(x) > float(y)) - (float(x) < float(y)) != exact:
            raise Mismatch(f'{short} and {other}: {x} and {y}, exactly {exact}')


@check
def numerals_without_end():
    """A numeral beyond all doubles is the largest one.

    Source: the largest finite double (IEEE 754)."""
    largest = sys.float_info.max
    compare([(f'decimal_double {"9" * 400}', [largest]), (f'decimal_double -{"9" * 400}.5', [-largest])], relative=0)


@check
def what_is_a_numeral():
    """What is a numeral is told as a regular expression tells it, 20,000 texts.

    Source: the interface: [+-]digits[.digits] or .digits, by Python's re."""
    import re
    rng = random.Random(25)
    form = re.compile(r'[+-]?([0-9]+(\.[0-9]+)?|\.[0-9]+)')
    texts = [''.join(rng.choice('01.+-e,') for _ in range(rng.randint(1, 7))) for _ in range(20000)]
    same([(f'decimal_valid {text}', '1' if form.fullmatch(text) else '0') for text in texts])


# ---- digests ------------------------------------------------------------------------------------------------------------

def crockford(digest):
    bits = ''.join(f'{byte:08b}' for byte in digest)[:50]
    return ''.join('0123456789ABCDEFGHJKMNPQRSTVWXYZ'[int(bits[i:i + 5], 2)] for i in range(0, 50, 5))


@check
def digests_of_the_standard():
    """SHA-256 gives the standard's example digests.

    Source: NIST, examples to FIPS 180-4: "abc" and the message of 448 bits; and of no message at all."""
    vectors = {b'': 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
               b'abc': 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad',
               b'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq':
                   '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1'}
    same([(f'sha256 {message.hex() or "-"}', f'{digest} {crockford(bytes.fromhex(digest))}')
          for message, digest in vectors.items()])


@check
def digests_against_python():
    """SHA-256 and its short number agree with hashlib, 2,000 messages.

    Source: hashlib; base 32 with Crockford's digits by RFC 4648's rule, five bits at a time, most significant first."""
    rng = random.Random(26)
    cases = []
    for length in [*range(200), *(rng.randint(200, 5000) for _ in range(1800))]:
        message = rng.randbytes(length)
        digest = hashlib.sha256(message)
        cases.append((f'sha256 {message.hex() or "-"}', f'{digest.hexdigest()} {crockford(digest.digest())}'))
    same(cases)


# ---- CSV ----------------------------------------------------------------------------------------------------------------

def cell(rng):
    return ''.join(rng.choice(['a', 'b', '7', '.', ' ', 'é', ',', '"', '\n', '\r\n', ';', '\t']) for _ in range(rng.randint(0, 6)))


def written(rng):
    """A well-formed file: cells quoted where they must be, and some that need not."""
    end = rng.choice(['\n', '\r\n', '\r'])
    rows = []
    for _ in range(rng.randint(1, 8)):
        cells = [cell(rng) for _ in range(rng.randint(1, 5))]
        rows.append(','.join('"' + c.replace('"', '""') + '"' if set(c) & set(',"\r\n') or rng.random() < 0.3 else c
                             for c in cells))
    return end.join(rows) + rng.choice(['', end])


def read_by_python(text):
    """Rows as Python reads them, with blanks around cells and blank rows dropped, as the records' interface says."""
    reader, out, before = csv.reader(io.StringIO(text, newline=''), strict=True), [], 0
    for row in reader:
        line, before = before + 1, reader.line_num
        cells = [c.strip(' \t') for c in row]
        if any(cells):
            out.append(f'{line}:' + ','.join(c.encode().hex() for c in cells))
    return ' '.join([*out, 'end'])


@check
def csv_files():
    """CSV files are read as Python reads them, with the line of each row, 5,000 files.

    Source: the csv module of Python's standard library, strict."""
    rng = random.Random(27)
    texts = [written(rng) for _ in range(5000)]
    same([(f'csv {text.encode().hex() or "-"}', read_by_python(text)) for text in texts])


@check
def csv_examples_of_the_standard():
    """The examples of RFC 4180, section 2, are read as it says.

    Source: RFC 4180, examples 1, 2, 5, 6 and 7."""
    examples = [('aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n', [(1, 'aaa', 'bbb', 'ccc'), (2, 'zzz', 'yyy', 'xxx')]),
                ('aaa,bbb,ccc\r\nzzz,yyy,xxx', [(1, 'aaa', 'bbb', 'ccc'), (2, 'zzz', 'yyy', 'xxx')]),
                ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [(1, 'aaa', 'bbb', 'ccc'), (2, 'zzz', 'yyy', 'xxx')]),
                ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [(1, 'aaa', 'b\r\nbb', 'ccc'), (3, 'zzz', 'yyy', 'xxx')]),
                ('"aaa","b""bb","ccc"', [(1, 'aaa', 'b"bb', 'ccc')])]
    same([(f'csv {text.encode().hex()}',
           ' '.join([*(f'{line}:' + ','.join(c.encode().hex() for c in cells) for line, *cells in rows), 'end']))
          for text, rows in examples])
