/**
 * Steelyard: certified scale → cart scale → each combine's monitor → every record on the map.
 *
 * The public door of the library. Everything here is pure: no files, no network, no clock, no DOM.
 */
export { type RawSet, type Role, readSources, unzip } from './formats/index.ts';
export { flatRing, insideRings } from './geo/ring.ts';
export { utmProjection } from './geo/utm.ts';
export {
	answersFault,
	type BuiltField,
	cropGiven,
	folderOf,
	type Given,
	type Intake,
	type IntakeOptions,
	type IntakeReport,
	intakeJson,
	isZone,
	type Question,
	type SourceReport,
	type Track,
	USES,
	type Use,
	understand,
	unitNames,
} from './intake/index.ts';
export { fieldContours } from './map/index.ts';
export * from './model/index.ts';
export {
	type Beside,
	openField,
	type RunOptions,
	runField,
	Stages,
	solveField,
	TASKS,
	type Tasks,
} from './pipeline/index.ts';
export * from './units/index.ts';
export * from './write/index.ts';
