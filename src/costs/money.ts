/**
 * Money is whole numbers of the currency's smallest unit, so that a sum is exactly the sum of its rows. The digits of a
 * currency are those of ISO 4217 (from memory; every currency not listed has two).
 */
const DIGITS: Readonly<Record<string, number>> = {
  ...Object.fromEntries(
    'BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF'.split(' ').map((code) => [code, 0]),
  ),
  ...Object.fromEntries('BHD IQD JOD KWD LYD OMR TND'.split(' ').map((code) => [code, 3])),
};

/** Digits after the point of a currency (ISO 4217 code); 2 where there is no code. */
export function currencyDigits(currency: string | null): number {
  return (currency === null ? undefined : DIGITS[currency]) ?? 2;
}

/** Decimals that the cells of a log carry; more are refused when it is read. */
const CELL_DECIMALS = 6;

/** An amount in smallest units, rounded half away from zero as a bill is. */
export function moneyOf(amount: number, digits: number): number {
  return roundScaled(scaled(amount), CELL_DECIMALS, digits);
}

/** Hours (or pieces) times a rate, rounded once, in smallest units. Exact: 1.005 h at 100.00 is 100.50, not 100.49. */
export function priceOf(count: number, rate: number, digits: number): number {
  return roundScaled(scaled(count) * scaled(rate), 2 * CELL_DECIMALS, digits);
}

/** A cell of up to nine whole digits and six decimals as a whole number of millionths; a double holds it exactly enough to round back. */
function scaled(value: number): bigint {
  return BigInt(Math.round(value * 10 ** CELL_DECIMALS));
}

function roundScaled(value: bigint, decimals: number, digits: number): number {
  const unit = 10n ** BigInt(decimals - digits);
  const half = value < 0n ? -unit / 2n : unit / 2n;
  return Number((value + half) / unit);
}

/** "1,234.50 USD" in the words of a locale; the code stands behind the number so that no sign is mistaken. */
export function formatMoney(minor: number, currency: string | null, locale: string): string {
  const digits = currencyDigits(currency);
  const number = formatDecimal(minor / 10 ** digits, digits, locale);
  return currency === null ? number : `${number} ${currency}`;
}

/** An estimate in whole units of its currency, "1,235 USD": its cents would say nothing. */
export function formatEstimate(value: number, currency: string | null, locale: string): string {
  const number = formatDecimal(value, 0, locale);
  return currency === null ? number : `${number} ${currency}`;
}

/** A number with a fixed count of decimals as a locale writes it; its spaces are made one kind, for engines differ in them. */
export function formatDecimal(value: number, decimals: number, locale: string): string {
  return new Intl.NumberFormat(locale, {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  })
    .format(value)
    .replace(/[\u00a0\u2009\u202f]/g, '\u00a0');
}
