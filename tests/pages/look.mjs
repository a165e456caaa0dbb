// SPDX-License-Identifier: GPL-3.0-or-later
// Finished HTML reports as people and machines meet them: valid HTML (html-validate), and in a
// headless Chromium on a phone, on a desk, in the dark and on paper. Files are given as arguments;
// with LOOK=FOLDER pictures of each are left there. Ends in "N passed, N failed".
import { basename, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const views = [
    { name: "phone", width: 360, height: 740 },
    { name: "desk", width: 1280, height: 900 },
    { name: "dark", width: 1280, height: 900, colorScheme: "dark" },
    { name: "paper", width: 800, height: 1100, media: "print" },
];
const limits = { contrast: 4.5, letters: 11 }; // WCAG 2.1, 1.4.3; pixels

let passed = 0;
let failed = 0;

function check(name, faults) {
    if (faults.length === 0) {
        passed++;
        return;
    }
    failed++;
    console.log(`${name}: ${faults.length} fault(s)`);
    faults.slice(0, 10).forEach((fault) => console.log(`    ${fault}`));
}

// --- valid HTML

const validator = new HtmlValidate({
    extends: ["html-validate:recommended", "html-validate:document"],
    rules: {
        "long-title": "off", // a report's title names ring, alloy and heat
        "no-inline-style": "off", // cairo's pictures carry their styles
        "require-sri": "off",
        "heading-level": ["error", { minInitialRank: "h1" }],
        "wcag/h63": "error", // th have a scope
    },
});

async function validate(path) {
    const report = await validator.validateFile(path);
    return report.results
        .flatMap((result) => result.messages)
        .map((message) => `${message.line}:${message.column}: ${message.message} [${message.ruleId}]`);
}

// --- in the browser; runs inside the page

function inspect({ contrast, letters }) {
    const faults = [];
    const tell = (words) => faults.push(words);
    const words = (element) => element.textContent.trim().slice(0, 40);

    const width = document.documentElement.scrollWidth;
    if (width > innerWidth) {
        const wide = [...document.querySelectorAll("main *")].find(
            (element) =>
                element.getBoundingClientRect().right > innerWidth + 1 && !element.closest(".wide, figure"),
        );
        tell(`${width} px wide on ${innerWidth}: ${wide ? `${wide.tagName} "${words(wide)}"` : "?"}`);
    }
    if (!document.documentElement.lang || !document.title) {
        tell("no language or no title");
    }
    let level = 0;
    for (const heading of document.querySelectorAll("h1, h2, h3, h4, h5, h6")) {
        const own = Number(heading.tagName[1]);
        if (own > level + 1 || (own === 1 && level > 0) || !words(heading)) {
            tell(`heading out of order: ${heading.tagName} "${words(heading)}" behind level ${level}`);
        }
        level = own;
    }
    for (const table of document.querySelectorAll("table")) {
        if (!table.querySelector("thead th, tbody th")) {
            tell(`a table without headings: "${words(table)}"`);
        }
    }
    for (const head of document.querySelectorAll("th")) {
        if (!head.scope) {
            tell(`a heading cell without scope: "${words(head)}"`);
        }
    }
    for (const picture of document.querySelectorAll("img, svg")) {
        const told = picture.getAttribute("alt") || picture.getAttribute("aria-label");
        if (!told && picture.getAttribute("aria-hidden") !== "true" && !picture.closest("[role=img]")) {
            tell("a picture without alternative text");
        }
    }
    const names = [...document.querySelectorAll("[id]")].map((element) => element.id);
    if (new Set(names).size !== names.length) {
        tell("an id that is there twice");
    }

    // Text: large enough, and apart from what is behind it.
    const read = (colour) => colour.match(/[\d.]+/g).map(Number);
    const linear = (value) => (value <= 10.31 ? value / 255 / 12.92 : ((value / 255 + 0.055) / 1.055) ** 2.4);
    const light = ([r, g, b]) => 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    const behind = (element) => {
        for (let at = element; at; at = at.parentElement) {
            const colour = read(getComputedStyle(at).backgroundColor);
            if (colour.length === 3 || colour[3] > 0.99) {
                return colour;
            }
        }
        return [255, 255, 255];
    };
    for (const element of document.querySelectorAll("body *:not(svg, svg *, script, style)")) {
        const own = [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
        if (!own || !element.checkVisibility()) {
            continue;
        }
        const style = getComputedStyle(element);
        const [a, b] = [light(read(style.color)), light(behind(element))].sort((x, y) => y - x);
        const found = (a + 0.05) / (b + 0.05);
        if (found < contrast) {
            tell(`contrast ${found.toFixed(1)}: "${words(element)}"`);
        }
        if (parseFloat(style.fontSize) < letters && !element.closest("sub, sup")) {
            tell(`letters of ${style.fontSize}: "${words(element)}"`);
        }
    }
    return faults;
}

async function visit(browser, path, view) {
    const faults = [];
    const context = await browser.newContext({
        viewport: { width: view.width, height: view.height },
        colorScheme: view.colorScheme ?? "light",
    });
    const page = await context.newPage();
    const url = pathToFileURL(resolve(path)).href;
    page.on("request", (request) => {
        if (request.url() !== url && !request.url().startsWith("data:")) {
            faults.push(`asks for ${request.url()}`);
        }
    });
    page.on("pageerror", (error) => faults.push(`script: ${error.message}`));
    page.on("console", (message) => {
        if (["error", "warning"].includes(message.type())) {
            faults.push(`console: ${message.text()}`);
        }
    });
    await page.emulateMedia({ media: view.media ?? "screen" });
    await page.goto(url);
    faults.push(...(await page.evaluate(inspect, limits)));
    if (process.env.LOOK) {
        const name = `${basename(path, ".html")}-${view.name}.png`;
        await page.screenshot({ path: `${process.env.LOOK}/${name}`, fullPage: true });
    }
    await context.close();
    return faults;
}

const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"],
});
for (const path of process.argv.slice(2)) {
    check(`${path}: HTML`, await validate(path));
    for (const view of views) {
        check(`${path}: ${view.name}`, await visit(browser, path, view));
    }
}
await browser.close();
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed > 0 || passed === 0 ? 1 : 0;
