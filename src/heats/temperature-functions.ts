/**
 * How carbon steel changes with temperature: functions of FHWA-IF-08-999 chapter 4, from memory of it.
 * Temperatures in °C here; the published forms are in °F and are kept that way inside. The pieces of
 * E and Fy do not join exactly (E jumps by 1 % at 700 °F): each is used on its own side.
 */

/** Thermal expansion coefficient, 1/°C: (6.1 + 0.0019 T)·10⁻⁶ per °F. */
export function expansionCoefficient(celsius: number): number {
  return (6.1 + 0.0019 * fahrenheit(celsius)) * 1e-6 * 1.8;
}

/** E(T)/E at room temperature, 100 to 1200 °F (1 below). @throws RangeError above 1200 °F */
export function modulusRatio(celsius: number): number {
  const t = published(celsius);
  return t <= 700 ? 1 - Math.max(0, t - 100) / 5000 : (500_000 + 1333 * t - 1.111 * t ** 2) * 1e-6;
}

/** Fy(T)/Fy at room temperature, 100 to 1200 °F (1 below). @throws RangeError above 1200 °F */
export function yieldRatio(celsius: number): number {
  const t = published(celsius);
  return t <= 800 ? 1 - Math.max(0, t - 100) / 5833 : (-720_000 + 4200 * t - 2.75 * t ** 2) * 1e-6;
}

function fahrenheit(celsius: number): number {
  return 1.8 * celsius + 32;
}

function published(celsius: number): number {
  const t = fahrenheit(celsius);
  if (!(t <= 1200 + 1e-6)) throw new RangeError(`${celsius} °C, expected at most 649 °C (1200 °F)`);
  return t;
}
