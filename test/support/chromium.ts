import { mkdir } from 'node:fs/promises';
import { dirname } from 'node:path';
import { type Browser, chromium, type Page } from 'playwright-core';
import { prepareChromium } from './prepare.ts';
import { markRan } from './ran.ts';

/** No sandbox: it needs rights a container seldom has. The rest keeps the browser from calling its maker. */
const flags = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

export type PhotographOptions = {
  /** The page: a path such as /my-dashboard/0 with `hub`, or a whole URL. */
  readonly url: string;
  /** Log in to this hub first, the way its own page remembers a login. */
  readonly hub?: { readonly url: string; readonly token: string };
  /** Where the PNG goes; its folder is made. */
  readonly file: string;
  readonly width?: number;
  readonly height?: number;
  readonly dark?: boolean;
  /** Texts that must be visible before the picture is taken; shadow roots are searched too. */
  readonly waitForText: readonly string[];
  /** Clicks and typing after the texts are there and before the picture. */
  readonly act?: (page: Page) => Promise<void>;
  readonly limitMs?: number;
};

export type Photograph = {
  readonly file: string;
  /** Everything a person could read on the page, shadow roots included, in document order, one line a text. */
  readonly text: string;
  /** Errors the page wrote to its console or threw. */
  readonly errors: readonly string[];
};

// Runs in the page. Texts of elements without a box (closed menus, other views) are left out.
const readVisibleText = `(() => {
  const lines = [];
  const visible = (el) => {
    const style = getComputedStyle(el);
    if (style.visibility === 'hidden' || style.opacity === '0') return false;
    const box = el.getBoundingClientRect();
    return style.display === 'contents' || (box.width > 0 && box.height > 0);
  };
  const walk = (node) => {
    if (node.nodeType === Node.TEXT_NODE) {
      const text = node.textContent.replace(/\\s+/g, ' ').trim();
      if (text !== '' && node.parentNode.nodeType === Node.ELEMENT_NODE && visible(node.parentNode)) lines.push(text);
      else if (text !== '' && node.parentNode instanceof ShadowRoot && visible(node.parentNode.host)) lines.push(text);
      return;
    }
    if (node.nodeType === Node.ELEMENT_NODE) {
      if (['STYLE', 'SCRIPT', 'TEMPLATE', 'NOSCRIPT', 'TITLE'].includes(node.tagName)) return;
      if (getComputedStyle(node).display === 'none') return;
      if (node.tagName === 'SLOT' && node.assignedNodes().length > 0) return node.assignedNodes().forEach(walk);
      if (node.tagName === 'INPUT' && visible(node) && node.value !== '') lines.push(node.value);
      if (node.shadowRoot) return walk(node.shadowRoot);
    }
    node.childNodes.forEach(walk);
  };
  walk(document.body);
  return lines.join('\\n');
})()`;

/** The shape in which the hub's page keeps a login; a long-lived token needs no refresh. */
function hubLogin(hub: { readonly url: string; readonly token: string }): string {
  const tokens = {
    access_token: hub.token,
    token_type: 'Bearer',
    expires_in: 1800,
    hassUrl: hub.url,
    clientId: `${hub.url}/`,
    expires: Date.now() + 1e11,
    refresh_token: '',
  };
  return `localStorage.setItem('hassTokens', ${JSON.stringify(JSON.stringify(tokens))});`;
}

let shared: Promise<Browser> | undefined;

/** One browser a test file; pages get contexts of their own. It ends with the process. */
async function browser(): Promise<Browser> {
  shared ??= prepareChromium().then((executablePath) => chromium.launch({ executablePath, args: flags }));
  return shared;
}

/** Ends the browser so that the test file's process can end. */
export async function closeChromium(): Promise<void> {
  const open = shared;
  shared = undefined;
  if (open !== undefined) await (await open).close();
}

/** Opens a page as a person would, waits until the texts can be read, takes a picture and gives what can be read on it. */
export async function photograph(options: PhotographOptions): Promise<Photograph> {
  const { width = 1280, height = 800, dark = false, hub, limitMs = 60_000 } = options;
  const context = await (await browser()).newContext({
    viewport: { width, height },
    colorScheme: dark ? 'dark' : 'light',
    locale: 'en-GB',
    timezoneId: 'UTC',
  });
  const errors: string[] = [];
  try {
    if (hub !== undefined) await context.addInitScript(hubLogin(hub));
    const page = await context.newPage();
    page.setDefaultTimeout(limitMs);
    page.on('pageerror', (error) => errors.push(error.message));
    page.on('console', (message) => {
      if (message.type() === 'error') errors.push(message.text());
    });
    await page.goto(hub === undefined ? options.url : new URL(options.url, hub.url).href);
    for (const text of options.waitForText) {
      await waitUntilReadable(page, text, limitMs);
    }
    await options.act?.(page);
    await mkdir(dirname(options.file), { recursive: true });
    await page.screenshot({ path: options.file, animations: 'disabled' });
    const text = String(await page.evaluate(readVisibleText));
    markRan('chromium');
    return { file: options.file, text, errors };
  } finally {
    await context.close();
  }
}

async function waitUntilReadable(page: Page, text: string, limitMs: number): Promise<void> {
  const found = page.getByText(text).filter({ visible: true }).first();
  await found.waitFor({ state: 'visible', timeout: limitMs }).catch(async () => {
    const seen = String(await page.evaluate(readVisibleText));
    throw new Error(`"${text}" did not appear on ${page.url()} within ${limitMs / 1000} s. Readable there:\n${seen}`);
  });
}
