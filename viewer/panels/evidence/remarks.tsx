/** Cautions, notes, and input that was not used. */
import type { Scene } from '../../../lib/model/index.ts';
import { own } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';
import { Heads, Lines, ScrollBox } from '../../table.tsx';

const t = strings.evidence;

export function Remarks({ s }: { s: Scene }) {
	const { notes, set_aside } = s.facts.result;
	const cautions = notes.filter((n) => n.level === 'caution');
	const others = notes.filter((n) => n.level !== 'caution');
	return (
		<section class="remarks" aria-labelledby="remarks">
			<h2 id="remarks">{t.cautions}</h2>
			{cautions.length === 0 ? (
				<p class="soft">{t.noCautions}</p>
			) : (
				<Lines class="cautions" of={cautions.map((n) => own(n.text))} />
			)}
			{others.length > 0 && (
				<details>
					<summary>{t.notes(others.length)}</summary>
					<Lines class="plain-list" of={others.map((n) => own(n.text))} />
				</details>
			)}
			{set_aside.length > 0 && (
				<details>
					<summary>{t.setAside(set_aside.length)}</summary>
					<ScrollBox class="table-box">
						<table>
							<Heads of={[t.file, { n: t.row }, t.found, t.why]} />
							<tbody>
								{set_aside.slice(0, 500).map((a) => (
									<tr key={`${a.file}/${a.row}/${a.column}/${a.found}`}>
										<td>{a.file}</td>
										<td class="n">{a.row ?? '–'}</td>
										<td>{a.column ? `${a.column}: ${a.found}` : a.found}</td>
										<td>{own(a.why)}</td>
									</tr>
								))}
							</tbody>
						</table>
					</ScrollBox>
				</details>
			)}
		</section>
	);
}
