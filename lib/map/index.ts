/** Re-scaling, value flags, the gridded surface, its difference and legend breaks. */
export { type BreakKind, breaks, classOf } from './breaks.ts';
export { type Difference, difference } from './difference.ts';
export { rescale } from './rescale.ts';
export { fieldSurface } from './surface.ts';
export { fitVariogram, semivariance, semivariogram } from './variogram.ts';
