/** The first records on the ground, by the columns as they are mapped now: lat and lon swapped is seen at once. */
import type { ColumnPlan } from '../../lib/model/index.ts';
import { strings } from '../strings/index.ts';
import type { Meaning, Table } from './guess.ts';

export function Preview(props: { table: Table; columns: Partial<Record<Meaning, ColumnPlan>> }) {
	const t = strings.work;
	const { table, columns } = props;
	const column = (m: Meaning) => table.columns.indexOf(columns[m]?.column ?? '');
	const [x, y] = [column('lon'), column('lat')];
	if (x < 0 || y < 0) return null;
	const points = table.rows
		.map((r) => [Number(r[x]), Number(r[y])] as const)
		.filter(
			([a, b]) =>
				Number.isFinite(a) && Number.isFinite(b) && Math.abs(b) <= 90 && Math.abs(a) <= 180 && (a !== 0 || b !== 0),
		);
	if (points.length === 0) return <p class="bad">{t.previewNone}</p>;
	const lat = points[0]![1];
	const squeeze = Math.cos((lat * Math.PI) / 180);
	const xs = points.map((p) => p[0] * squeeze);
	const ys = points.map((p) => -p[1]);
	const [x0, x1, y0, y1] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
	const size = Math.max(x1 - x0, y1 - y0, 1e-6);
	const at = (i: number) =>
		`${(10 + (180 * (xs[i]! - x0)) / size).toFixed(1)},${(10 + (180 * (ys[i]! - y0)) / size).toFixed(1)}`;
	const metres = (size * 111_320).toFixed(0);
	return (
		<figure>
			<svg class="preview" viewBox="0 0 200 200" width="200" height="200" role="img" aria-label={t.preview(metres)}>
				<polyline points={points.map((_, i) => at(i)).join(' ')} fill="none" stroke="currentColor" stroke-width="1" />
				<circle cx={at(0).split(',')[0]} cy={at(0).split(',')[1]} r="3" fill="currentColor" />
			</svg>
			<figcaption class="small soft">{t.preview(metres)}</figcaption>
		</figure>
	);
}
