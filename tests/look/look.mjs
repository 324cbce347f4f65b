// SPDX-License-Identifier: GPL-3.0-or-later
// look.mjs FOLDER: opens FOLDER/pages/*.html and asks of each what a reader would. The packages are in FOLDER/node_modules.
import {createRequire} from 'node:module';
import {readdirSync, statSync} from 'node:fs';
import {join, resolve} from 'node:path';

const folder = resolve(process.argv[2]);
const require = createRequire(join(folder, 'package.json'));
const {chromium} = require('playwright-core');
const axe = require('axe-core');

const PHONE = 390, LAPTOP = 1280;
const LARGEST = 5e6; // bytes that a page with 3,000 findings may take

let failed = 0;
function tell(name, why) {
    if (why) failed++;
    console.log(why ? `not ok ${name}: ${why.replaceAll('\n', ' ')}` : `ok ${name}`);
}

// A page in a browser that notes whatever it asks for besides itself, and whatever it complains of.
async function open(browser, file, width, scheme) {
    // The page forbids scripts, axe's too; bypassCSP lets the test's in.
    const context = await browser.newContext({viewport: {width, height: 900}, colorScheme: scheme, bypassCSP: true});
    const page = await context.newPage();
    const url = 'file://' + join(folder, 'pages', file), asked = [], complaints = [];
    page.on('request', request => { if (request.url() !== url) asked.push(request.url()); });
    page.on('console', message => { if (['error', 'warning'].includes(message.type())) complaints.push(message.text()); });
    page.on('pageerror', error => complaints.push(String(error)));
    await page.goto(url);
    return {page, asked, complaints, close: () => context.close()};
}

const openFolds = page => page.evaluate(() => document.querySelectorAll('details').forEach(fold => { fold.open = true; }));

async function violations(page) {
    await page.evaluate(axe.source);
    const {violations: found} = await page.evaluate(() => window.axe.run(document, {resultTypes: ['violations']}));
    return found.map(one => `${one.id} (${one.nodes.length}, ${one.nodes[0].target.join(' ')})`).join('; ');
}

async function overflow(page) {
    const [content, width] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    return content > width ? `content is ${content} px wide in ${width} px` : '';
}

// What is folded on the screen must show on paper: every finding, and every row of its results.
async function hiddenOnPaper(page) {
    await page.emulateMedia({media: 'print'});
    return page.evaluate(() => {
        const all = [...document.querySelectorAll('article, article tr')];
        const hidden = all.filter(element => !element.checkVisibility() || element.getBoundingClientRect().height === 0);
        return hidden.length ? `${hidden.length} of ${all.length} do not show` : '';
    });
}

async function firstTab(page) {
    await page.keyboard.press('Tab');
    return page.evaluate(() => {
        const at = document.activeElement, box = at.getBoundingClientRect();
        const shown = box.left >= 0 && box.width > 0;
        return at.getAttribute('href') === '#content' && shown ? '' : `focus is on ${at.outerHTML.slice(0, 80)}`;
    });
}

// The light page is looked at as it opens, the dark one and the phone's with everything unfolded. A large page stays
// folded for axe, which takes minutes for some thousands of tables.
async function look(browser, file) {
    const name = file.replace('.html', '');
    const isLarge = statSync(join(folder, 'pages', file)).size > 1e6;

    const light = await open(browser, file, LAPTOP, 'light');
    tell(`${name}: axe finds no violation`, await violations(light.page));
    tell(`${name}: nothing is asked of the network, nothing complained of`, [...light.asked, ...light.complaints].join('; '));
    await light.close();

    const dark = await open(browser, file, LAPTOP, 'dark');
    if (!isLarge) {
        await openFolds(dark.page);
        tell(`${name}: axe finds no violation in the dark with all folds open`, await violations(dark.page));
    }
    await dark.close();

    const phone = await open(browser, file, PHONE, 'light');
    tell(`${name}: the skip link comes first and shows`, await firstTab(phone.page));
    tell(`${name}: no sideways scrolling on a phone`, await overflow(phone.page));
    await openFolds(phone.page);
    tell(`${name}: no sideways scrolling on a phone with all folds open`, await overflow(phone.page));
    if (!isLarge) tell(`${name}: axe finds no violation on a phone`, await violations(phone.page));
    await phone.close();

    const paper = await open(browser, file, LAPTOP, 'dark');
    tell(`${name}: all that is folded shows on paper`, await hiddenOnPaper(paper.page));
    await paper.close();
}

const browser = await chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--no-first-run', '--disable-background-networking', '--disable-component-update', '--disable-sync'],
});
for (const file of readdirSync(join(folder, 'pages')).sort())
    await look(browser, file).catch(error => tell(`${file}: the browser went through to the end`, String(error)));
await browser.close();

const size = statSync(join(folder, 'largest.html')).size;
tell('large: 3,000 findings stay under 5 MB', size < LARGEST ? '' : `${size} bytes`);
process.exit(failed ? 1 : 0);
