/** Every error of the input, and how to continue where possible. */

import { guarded, unmapped } from '../../engine/open.ts';
import { scene, status } from '../../state/field.ts';
import { strings } from '../../strings/index.ts';

export function Faults(props: { faults: string[] }) {
	const t = strings.work;
	return (
		<div role="alert">
			<h2>{strings.shell.failed}</h2>
			<ul class="faults">
				{props.faults.map((f) => (
					<li key={f}>{f}</li>
				))}
			</ul>
			<div class="row">
				{unmapped.value && (
					<button
						type="button"
						class="main"
						onClick={() => {
							const files = unmapped.value!.filter((f) => !/(^|\/)field\.json$/.test(f.name));
							unmapped.value = null;
							status.value = { kind: 'working', stage: 'open', share: 0 };
							guarded(async () => (await import('../../engine/check.ts')).check(files), null);
						}}
					>
						{t.nameColumns}
					</button>
				)}
				{scene.value && (
					<button type="button" onClick={() => (status.value = { kind: 'open' })}>
						{t.gotIt}
					</button>
				)}
			</div>
		</div>
	);
}
