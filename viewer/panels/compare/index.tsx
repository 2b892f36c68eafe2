/** Two or more combines side by side: differences, their intervals and verdicts. */
import '../../style/compare.css';
import type { Scene } from '../../../lib/model/index.ts';
import { seamSentences } from '../../../lib/units/index.ts';
import { scene } from '../../state/field.ts';
import { numbers } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Lines } from '../../table.tsx';
import { SeamMap } from './seam-map.tsx';
import { Shared } from './shared.tsx';
import { Table } from './table.tsx';

const t = strings.compare;

export function Compare() {
	const s = scene.value;
	if (!s) return <p class="page-text soft">{t.nothing}</p>;
	if (s.facts.combines.length < 2) return <p class="page-text">{t.one}</p>;
	return (
		<div class="compare">
			<header>
				<h2 class="field-name">{t.title(s.facts.field.name)}</h2>
				<Verdict s={s} />
			</header>
			<Table s={s} />
			<div class="compare-ground">
				<SeamMap s={s} />
				<Shared s={s} />
			</div>
			<Advice s={s} />
		</div>
	);
}

/** The pair with the most ground side by side gives the verdict. */
function Verdict({ s }: { s: Scene }) {
	const pairs = s.facts.result.seams;
	const [first] = [...pairs].sort((a, b) => b.length_m - a.length_m);
	if (!first) return <p>{t.noSeam}</p>;
	const corrected = Object.values(s.facts.result.combines).some((c) => c.factor !== null);
	return <p class="verdict">{seamSentences(first, corrected, numbers).join(' ')}</p>;
}

function Advice({ s }: { s: Scene }) {
	const lines = s.facts.evidence?.comparison?.advice ?? [];
	if (lines.length === 0) return null;
	return (
		<section>
			<h3>{t.advice}</h3>
			<Lines class="plain-list" of={lines} />
		</section>
	);
}
