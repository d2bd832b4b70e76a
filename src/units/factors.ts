/**
 * Exact unit factors to SI. The international foot is 0.3048 m exactly and the pound 0.45359237 kg exactly
 * (international yard and pound agreement, 1959); standard gravity is 9.80665 m/s² exactly (CGPM 1901).
 * NIST SP 811 appendix B lists the same values.
 */
export const INCH = 0.0254;
export const FOOT = 0.3048;
export const MILLIMETRE = 0.001;
export const CENTIMETRE = 0.01;
/** N */
export const POUND_FORCE = 0.45359237 * 9.80665;
export const KIP = 1000 * POUND_FORCE;
/** Pa */
export const PSI = POUND_FORCE / (INCH * INCH);
export const KSI = 1000 * PSI;
export const MEGAPASCAL = 1e6;

/** °C from °F; exact by definition of the scales. */
export function celsiusFromFahrenheit(fahrenheit: number): number {
  return ((fahrenheit - 32) * 5) / 9;
}

export function fahrenheitFromCelsius(celsius: number): number {
  return (celsius * 9) / 5 + 32;
}
