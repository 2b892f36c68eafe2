/** Re-scaling, value flags, the gridded surface, its difference and legend breaks. */
export { type BreakKind, breaks, classOf } from './legend/breaks.ts';
export { type Difference, difference } from './legend/difference.ts';
export { rescale } from './records/rescale.ts';
export { fieldSurface } from './surface/surface.ts';
export { fitVariogram, semivariance, semivariogram } from './surface/variogram.ts';
