import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createConnection, createServer, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

/** A browser driven by the commands of W3C WebDriver: as little of it as the tests need. */
export interface Driver {
  readonly go: (url: string) => Promise<void>;
  /** Runs a function body in the page and gives what it returns, plain data. */
  readonly run: (body: string) => Promise<unknown>;
  /** Clicks an element as a person does. */
  readonly click: (css: string) => Promise<void>;
  readonly resize: (width: number, height: number) => Promise<void>;
  /** PNG in base64. */
  readonly picture: () => Promise<string>;
  readonly close: () => Promise<void>;
}

/** Sends one command of WebDriver and gives its value. */
type Send = (command: Command, parameters: Readonly<Record<string, unknown>>) => Promise<unknown>;

const COMMANDS = {
  NewSession: ['POST', ''],
  Navigate: ['POST', '/url'],
  ExecuteScript: ['POST', '/execute/sync'],
  FindElement: ['POST', '/element'],
  ElementClick: ['POST', '/element/{id}/click'],
  SetWindowRect: ['POST', '/window/rect'],
  TakeScreenshot: ['GET', '/screenshot'],
  DeleteSession: ['DELETE', ''],
} as const;
type Command = keyof typeof COMMANDS;

const FIREFOX = process.env.FIREFOX_PATH ?? '/usr/bin/firefox-esr';
const WEBKIT = process.env.WEBKIT_DRIVER_PATH ?? '/usr/bin/WebKitWebDriver';
const MINI_BROWSER = '/usr/lib/x86_64-linux-gnu/webkit2gtk-4.1/MiniBrowser';
const XVFB = '/usr/bin/Xvfb';

/** What there is on this machine; what is absent is said loudly. */
export const OTHERS: readonly (readonly [string, boolean, () => Promise<Driver>])[] = [
  ['Firefox', existsSync(FIREFOX), firefox],
  ['WebKit', [WEBKIT, MINI_BROWSER, XVFB].every((file) => existsSync(file)), webkit],
];
for (const [name, there] of OTHERS)
  if (!there) console.warn(`SKIPPED: the readings page was not tested in ${name}, which is not installed`);

function driver(send: Send, end: () => void): Driver {
  const args: unknown[] = [];
  return {
    go: async (url) => void (await send('Navigate', { url })),
    run: (script) => send('ExecuteScript', { script, args }),
    click: async (value) => {
      const found = await send('FindElement', { using: 'css selector', value });
      await send('ElementClick', { id: Object.values(found as Record<string, string>)[0]! });
    },
    resize: async (width, height) => void (await send('SetWindowRect', { width, height })),
    picture: async () => (await send('TakeScreenshot', { full: false })) as string,
    close: async () => {
      await send('DeleteSession', {}).catch(() => undefined);
      end();
    },
  };
}

/** Firefox by the protocol it speaks itself (Marionette: commands of WebDriver as JSON, each after its length). */
async function firefox(): Promise<Driver> {
  const profile = mkdtempSync(join(tmpdir(), 'sweepbook-firefox-'));
  writeFileSync(
    join(profile, 'user.js'),
    `user_pref("marionette.port", 0);\nuser_pref("browser.shell.checkDefaultBrowser", false);\nuser_pref("datareporting.policy.dataSubmissionEnabled", false);\nuser_pref("network.captive-portal-service.enabled", false);\nuser_pref("network.connectivity-service.enabled", false);\nuser_pref("app.update.auto", false);\n`,
  );
  const browser = spawn(FIREFOX, ['--headless', '--marionette', '--no-remote', '--profile', profile], {
    stdio: 'ignore',
  });
  const socket = await connected(() => portIn(join(profile, 'MarionetteActivePort')), browser);
  const send = marionette(socket);
  await send('NewSession', { capabilities: { alwaysMatch: {} } });
  return driver(send, () => {
    socket.destroy();
    browser.kill();
    browser.once('exit', () => rmSync(profile, { recursive: true, force: true }));
  });
}

function marionette(socket: Socket): Send {
  const waiting = new Map<number, { give: (value: unknown) => void; fail: (error: Error) => void }>();
  let held = Buffer.alloc(0);
  let id = 0;
  socket.on('data', (data) => {
    held = Buffer.concat([held, data as Buffer]);
    for (;;) {
      const colon = held.indexOf(':');
      const length = Number(held.subarray(0, colon).toString('latin1'));
      if (colon < 0 || held.length < colon + 1 + length) return;
      const message: unknown = JSON.parse(held.subarray(colon + 1, colon + 1 + length).toString('utf8'));
      held = held.subarray(colon + 1 + length);
      // The first is a greeting.
      if (!Array.isArray(message)) continue;
      const [, number, error, result] = message as [number, number, { message: string } | null, unknown];
      const asked = waiting.get(number);
      waiting.delete(number);
      if (error !== null) asked?.fail(new Error(error.message));
      else asked?.give(plainOf(result));
    }
  });
  return (command, parameters) =>
    new Promise((give, fail) => {
      waiting.set(++id, { give, fail });
      const text = JSON.stringify([0, id, `WebDriver:${command}`, parameters]);
      socket.write(`${Buffer.byteLength(text)}:${text}`);
    });
}

function plainOf(result: unknown): unknown {
  return typeof result === 'object' && result !== null && 'value' in result ? result.value : result;
}

/** WebKit by Debian's driver of it, on a screen of its own. */
async function webkit(): Promise<Driver> {
  const port = await freePort();
  // It takes a free screen, and says which one once it is there.
  const display = spawn(XVFB, ['-displayfd', '1', '-screen', '0', '1400x1000x24', '-nolisten', 'tcp'], {
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  const screen = await new Promise<string>((resolve, reject) => {
    display.stdout.once('data', (number) => resolve(`:${String(number).trim()}`));
    display.once('exit', (status) => reject(new Error(`Xvfb ended with ${status}`)));
  });
  const driving = spawn(WEBKIT, [`--port=${port}`], {
    stdio: 'ignore',
    env: {
      ...process.env,
      DISPLAY: screen,
      GDK_BACKEND: 'x11',
      LIBGL_ALWAYS_SOFTWARE: '1',
      WEBKIT_DISABLE_COMPOSITING_MODE: '1',
      // In a container there are no namespaces to put a sandbox in; the page is our own.
      WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: '1',
    },
  });
  (await connected(() => port, driving)).destroy();
  let session = '';
  const send: Send = async (command, parameters) => {
    const [method, path] = COMMANDS[command];
    const { id, ...rest } = parameters;
    const response = await fetch(
      `http://127.0.0.1:${port}/session${session}${path.replace('{id}', String(id))}`,
      method === 'POST' ? { method, body: JSON.stringify(rest) } : { method },
    );
    const { value } = (await response.json()) as { value: { error?: string; message?: string } | null };
    if (!response.ok) throw new Error(`${value?.error}: ${value?.message}`);
    return value;
  };
  const end = () => {
    driving.kill();
    display.kill();
  };
  try {
    const made = (await send('NewSession', {
      capabilities: {
        alwaysMatch: {
          'webkitgtk:browserOptions': {
            binary: MINI_BROWSER,
            args: ['--automation'],
          },
        },
      },
    })) as { sessionId: string };
    session = `/${made.sessionId}`;
  } catch (error) {
    end();
    throw error;
  }
  return driver(send, end);
}

function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() =>
        typeof address === 'object' && address !== null
          ? resolve(address.port)
          : reject(new Error('no port')),
      );
    });
  });
}

/** The port a browser has written down that it listens on; null: not yet. */
function portIn(file: string): number | null {
  const port = existsSync(file) ? Number(readFileSync(file, 'latin1')) : 0;
  return port > 0 ? port : null;
}

/** A connection to a port, once somebody listens there; an error where the process ends first. */
async function connected(portNow: () => number | null, child: ChildProcess): Promise<Socket> {
  for (;;) {
    if (child.exitCode !== null) throw new Error(`it ended with ${child.exitCode}`);
    const port = portNow();
    const socket = await new Promise<Socket | null>((resolve) => {
      if (port === null) return resolve(null);
      const tried = createConnection(port, '127.0.0.1');
      tried.once('connect', () => resolve(tried));
      tried.once('error', () => resolve(null));
    });
    if (socket !== null) return socket;
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
}
