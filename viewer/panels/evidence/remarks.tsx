/** Cautions, notes, and input that was not used. */
import type { Scene } from '../../../lib/model/index.ts';
import { own } from '../../state/format.ts';
import { strings } from '../../strings/index.ts';

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
				<ul class="cautions">
					{cautions.map((n) => (
						<li key={n.text}>{own(n.text)}</li>
					))}
				</ul>
			)}
			{others.length > 0 && (
				<details>
					<summary>{t.notes(others.length)}</summary>
					<ul class="plain-list">
						{others.map((n) => (
							<li key={n.text}>{own(n.text)}</li>
						))}
					</ul>
				</details>
			)}
			{set_aside.length > 0 && (
				<details>
					<summary>{t.setAside(set_aside.length)}</summary>
					{/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard. */}
					<div class="table-box" tabIndex={0}>
						<table>
							<thead>
								<tr>
									<th scope="col">{t.file}</th>
									<th scope="col" class="n">
										{t.row}
									</th>
									<th scope="col">{t.found}</th>
									<th scope="col">{t.why}</th>
								</tr>
							</thead>
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
					</div>
				</details>
			)}
		</section>
	);
}
