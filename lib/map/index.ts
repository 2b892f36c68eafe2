/** Corrected yields, value flags, the gridded surface and its difference. */
export { type FactorParts, factorParts } from './records/combine-levels.ts';
export { fieldPattern, type Pattern, type PatternInput } from './records/pattern.ts';
export { rescale } from './records/rescale.ts';
export { aroundStretch } from './records/unlike-neighbors.ts';
export { fieldContours } from './surface/contours.ts';
export { krigingWeights, noWeights, type Weights } from './surface/kriging-weights.ts';
export { krigeStrip } from './surface/strip.ts';
export { fieldSurface } from './surface/surface.ts';
