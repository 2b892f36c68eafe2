/** Fourth step: each combine's factor, and where its uncertainty comes from. */
import type { ResultFactor, Scene } from '../../../lib/model/index.ts';
import { factorRange, monitorSentence } from '../../../lib/units/index.ts';
import { hold, type Lit, lights, shining } from '../../state/field.ts';
import { interval, number, numbers, own } from '../../state/format.ts';
import { token } from '../../state/settings.ts';
import { strings } from '../../strings/index.ts';
import { Heads, Lines } from '../../table.tsx';
import { OverrideFactor } from '../work/override-factor.tsx';
import { CombineName, Link } from './link.tsx';
import { PlotBox, room } from './plot.tsx';
import { shines } from './shine.ts';

const t = strings.evidence;

export function Factors({ s }: { s: Scene }) {
	const { result, combines, evidence } = s.facts;
	const known = combines.map((name, c) => ({ name, c, f: result.combines[name]?.factor ?? null }));
	const withFactor = known.flatMap((k) => (k.f ? [{ name: k.name, c: k.c, f: k.f }] : []));
	return (
		<Link
			id="factors"
			name={t.factors}
			tone={withFactor.length === 0 ? 'warn' : undefined}
			verdict={withFactor.length === 0 ? t.noFactors : t.factorVerdict(withFactor.length)}
			tableName={t.budgetTable}
			table={evidence && <Budget s={s} />}
		>
			<ul class="factors">
				{known.map(({ name, c, f }) => {
					const what: Lit = { kind: 'combine', combine: c };
					return (
						<li key={name} class={shines(what, shining.value, s) ? 'lit' : ''}>
							<button
								type="button"
								class="plain"
								{...lights(what)}
								onClick={() => hold(what)}
								aria-label={`${t.combine} ${name}`}
							>
								<CombineName combine={c} name={name} />
							</button>
							<p>
								{f === null ? t.noFactor : monitorSentence(result, name, numbers)}
								{f && f.form !== 'constant' && <span class="soft"> ({t.forms[f.form]})</span>}
							</p>
							{f && (
								<p class="figure">
									<span class="numeral">{number(f.value, 3)}</span>
									<span class="soft small">
										{f.interval[0] === f.interval[1]
											? factorRange(f.interval)
											: t.interval95(factorRange(f.interval, numbers))}
									</span>
									<span class="soft small">{t.nextLoad(interval(f.next_interval, 3))}</span>
								</p>
							)}
						</li>
					);
				})}
			</ul>
			<FactorPlot s={s} of={withFactor} />
			<OverrideFactor s={s} />
			{evidence?.factors.some((f) => f.advice.length > 0) && (
				<details>
					<summary>{t.advice}</summary>
					{evidence.factors.map((f) => (
						<Advice key={f.combine} lines={f.advice} name={combines[f.combine]!} combine={f.combine} />
					))}
				</details>
			)}
		</Link>
	);
}

interface Shown {
	name: string;
	c: number;
	f: ResultFactor;
}

function FactorPlot({ s, of }: { s: Scene; of: Shown[] }) {
	if (of.length === 0) return null;
	const color = ({ c }: Shown) => token(`--c${c % 6}`);
	return (
		<PlotBox
			label={t.factorPlot}
			on={s}
			dots={of.map(({ c }) => ({ kind: 'combine', combine: c }))}
			options={(P) => ({
				height: 34 + 22 * of.length,
				marginLeft: room(of.map((k) => k.name)),
				marginRight: 16,
				marginTop: 6,
				marginBottom: 24,
				x: { label: null, ticks: 6, nice: true, tickFormat: (v: number) => number(v, 2), grid: true },
				y: { label: null, domain: of.map((k) => k.name), tickSize: 0 },
				marks: [
					P.ruleX([1], { stroke: token('--edge'), strokeDasharray: '2,2' }),
					...(['next_interval', 'interval'] as const).map((range) =>
						P.ruleY(of, {
							y: 'name',
							x1: (k) => k.f[range][0],
							x2: (k) => k.f[range][1],
							stroke: color,
							strokeWidth: range === 'interval' ? 5 : 1,
						}),
					),
					P.dot(of, {
						y: 'name',
						x: (k) => k.f.value,
						r: 4.5,
						fill: token('--sheet'),
						stroke: color,
						strokeWidth: 2,
						className: 'dots',
					}),
				],
			})}
		/>
	);
}

function Advice(props: { lines: string[]; name: string; combine: number }) {
	if (props.lines.length === 0) return null;
	return (
		<div class="advice small">
			<CombineName combine={props.combine} name={props.name} />
			<Lines of={props.lines.map(own)} />
		</div>
	);
}

function Budget({ s }: { s: Scene }) {
	const { evidence, combines } = s.facts;
	return (
		<table>
			<Heads of={[t.combine, t.budgetPart, { n: t.budgetU }, { n: t.budgetShare }, t.budgetAdvice]} />
			<tbody>
				{evidence!.factors.flatMap((f) =>
					f.budget.map((line, i) => (
						<tr key={`${f.combine}/${line.name}`}>
							<td>{i === 0 && <CombineName combine={f.combine} name={combines[f.combine]!} />}</td>
							<td class="words">{line.name}</td>
							<td class="n">{number(100 * line.u_rel, 2)}%</td>
							<td class="n">{number(100 * line.share, 0)}%</td>
							<td>{line.advice}</td>
						</tr>
					)),
				)}
				{evidence!.factors.map((f) => (
					<tr key={`tried${f.combine}`}>
						<td>
							<CombineName combine={f.combine} name={combines[f.combine]!} />
						</td>
						<td colSpan={4}>
							{t.tried(
								f.tried
									.map(
										(x) => `${t.formNames[x.form]} ${Number.isFinite(x.score) ? `${number(100 * x.score, 2)}%` : '–'}`,
									)
									.join(', '),
							)}
						</td>
					</tr>
				))}
			</tbody>
		</table>
	);
}
