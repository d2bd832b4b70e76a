/** Exact conversions for tests that quote published values in trade units. */
export const INCH = 0.0254;
export const FOOT = 12 * INCH;
export const KIP = 4448.2216152605;
export const KSI = KIP / INCH ** 2;
export const PSI = KSI / 1000;
export const DEGREE = Math.PI / 180;
export const celsius = (fahrenheit: number): number => (fahrenheit - 32) / 1.8;
