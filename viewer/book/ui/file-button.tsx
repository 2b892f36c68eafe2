/** A button to choose a file, read as text. */
export function FileButton(props: {
	label: string;
	accept: string;
	take: (text: string, name: string) => Promise<void>;
}) {
	return (
		<label class="button file">
			{props.label}
			<input
				type="file"
				accept={props.accept}
				onChange={async (e) => {
					const file = e.currentTarget.files?.[0];
					e.currentTarget.value = '';
					if (file) await props.take(await file.text(), file.name);
				}}
			/>
		</label>
	);
}
