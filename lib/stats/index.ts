export { effectiveFreedom } from './freedom.ts';
export { backward, cholesky, forward, type GlsFit, gls } from './gls.ts';
export { type LinearFit, weightedRegression } from './linear.ts';
export { mad, median, quantile } from './median.ts';
export { type Explanation, mixtureInterval } from './mixture.ts';
export { halfWidth, type Part } from './montecarlo.ts';
export { type Random, seeded } from './random.ts';
export { type Ratio, ratioOfSums } from './ratio.ts';
export { incompleteBeta, logGamma, normalCdf, tCdf, tQuantile } from './student.ts';
