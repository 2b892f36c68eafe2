/** Avoirdupois pound, exact: NIST Handbook 44, Appendix C. */
export const POUND_KG = 0.453_592_37;
/** International foot, exact: NIST Handbook 44, Appendix C. */
export const FOOT_M = 0.3048;
/** International inch, exact. */
export const INCH_M = FOOT_M / 12;
/** International mile, exact. */
export const MILE_M = 5280 * FOOT_M;
/** International acre, 43,560 square feet: NIST Handbook 44, Appendix C (4 046.856 422 4 m²). */
export const ACRE_M2 = 43_560 * FOOT_M * FOOT_M;
/** Hectare, exact. */
export const HECTARE_M2 = 10_000;
/** US (Winchester) bushel of volume, 2,150.42 cubic inches exactly: NIST Handbook 44, Appendix C. */
export const BUSHEL_L = 2150.42 * (INCH_M * 10) ** 3;
