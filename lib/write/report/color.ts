import { evenLightness, type Rgb } from '../../units/index.ts';

/** For yield: straw to deep pine, darker for more grain, so that the order shows on a black and white printer. */
export const yieldColor = evenLightness(['#f6e3a1', '#d9bf55', '#94a33a', '#4c8048', '#1d5a55', '#123348']);
/** For standard errors. */
export const errorColor = evenLightness(['#f4f1ea', '#55504a']);

const less = evenLightness(['#f1ece0', '#7fa8cf', '#1c4f86']);
const more = evenLightness(['#f1ece0', '#dd9a5e', '#8f3a06']);
/** For change, −1 … 1: blue below, paper in the middle, rust above; lightness changes evenly on both sides. */
export const changeColor = (share: number): Rgb => (share < 0 ? less(-share) : more(share));

export const css = ([r, g, b]: Rgb): string => `#${[r, g, b].map((v) => v.toString(16).padStart(2, '0')).join('')}`;
