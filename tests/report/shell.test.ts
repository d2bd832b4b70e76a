import { createHash } from 'node:crypto';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { escapeHtml, html, htmlText, markup } from '../../src/report/html.ts';
import { EMPTY_STYLE, page } from '../../src/report/shell.ts';
import { sha256Base64, sha256Hex } from '../../src/sha256.ts';

describe('SHA-256', () => {
  // FIPS 180-4 example vectors published by NIST ("SHA256.pdf", one-block and two-block messages); empty message from the same programme's short-message file.
  it.each([
    ['abc', 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad'],
    [
      'abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq',
      '248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1',
    ],
    ['', 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855'],
  ])('of %j is the published digest', (text, digest) => {
    expect(sha256Hex(text)).toBe(digest);
  });

  it('agrees with OpenSSL on any text', () => {
    fc.assert(
      fc.property(fc.string({ unit: 'binary', maxLength: 300 }), (text) => {
        expect(sha256Base64(text)).toBe(createHash('sha256').update(text, 'utf8').digest('base64'));
      }),
    );
  });
});

describe('html', () => {
  it('escapes every value and leaves markup alone', () => {
    const name = `<img src=x onerror="alert('1')">&`;
    const text = htmlText(
      html`<p title="${name}">${name}${html`<b>${1}</b>`}${null}${['<', markup('<i>')]}</p>`,
    );
    expect(text).toBe(
      '<p title="&lt;img src=x onerror=&quot;alert(&#39;1&#39;)&quot;&gt;&amp;">' +
        '&lt;img src=x onerror=&quot;alert(&#39;1&#39;)&quot;&gt;&amp;<b>1</b>&lt;<i></p>',
    );
  });

  it('replaces characters that reorder or break text', () => {
    expect(escapeHtml('girder\u202Egnp.exe\u0000\n')).toBe('girder\uFFFDgnp.exe\uFFFD\n');
  });
});

describe('page', () => {
  const parts = {
    title: '</title><script>alert(1)</script>',
    description: 'd',
    body: html`<p>body</p>`,
    scripts: ['console'],
    stored: [{ id: 'later', text: 'window.later = 1' }],
    data: [{ id: 'facts', value: { name: '</script><script>alert(2)</script><!--' } }],
  };

  it('lets no text open a tag', () => {
    const text = page(parts);
    expect(text.match(/<script/g)).toHaveLength(3);
    expect(text).not.toContain('alert(1)</script>');
    expect(text).toContain('\\u003c/script>\\u003cscript>alert(2)');
  });

  it('allows its own scripts and style by hash, and nothing else', () => {
    const text = page(parts);
    const policy = text.match(/Content-Security-Policy" content="([^"]+)"/)![1]!.replaceAll('&#39;', "'");
    const hash = (t: string) => `'sha256-${createHash('sha256').update(t).digest('base64')}'`;
    expect(policy).toContain("default-src 'none'");
    expect(policy).toContain(`script-src ${hash('console')} ${hash('window.later = 1')};`);
    expect(policy).toContain(`style-src ${hash(text.match(/<style>([\s\S]*?)<\/style>/)![1]!)}`);
    expect(policy).not.toMatch(/unsafe|https?:|\*/);
    expect(EMPTY_STYLE).toBe(hash(''));
  });

  it('refuses a script that would end its own element', () => {
    expect(() => page({ ...parts, scripts: ['"</script>"'] })).toThrow(/cannot stand/);
  });
});
