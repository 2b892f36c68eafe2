export const finite = (x: number): number | null => (Number.isFinite(x) ? x : null);
