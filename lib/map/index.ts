/** Corrected yields, value flags, the gridded surface, its difference, and legend breaks. */
export { type BreakKind, breaks, classOf } from './legend/breaks.ts';
export { type FactorParts, factorParts } from './records/levels.ts';
export { aroundStretch } from './records/neighbors.ts';
export { fieldPattern, type Pattern, type PatternInput } from './records/pattern.ts';
export { rescale } from './records/rescale.ts';
export { krigeStrip } from './surface/strip.ts';
export { fieldSurface } from './surface/surface.ts';
export { krigingWeights, noWeights, type Weights } from './surface/weights.ts';
