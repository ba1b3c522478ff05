package browser

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Equal steps of pressure are equal steps of lightness, day and night.
func TestPressureScaleIsEven(t *testing.T) {
	t.Parallel()
	b := bare(t)
	for _, night := range []bool{false, true} {
		light := js[[]float64](b, fmt.Sprintf(`
			const c = await import("/js/colour.js");
			return c.pressureScale(16, %v).map((h) => c.lab(h)[0]);`, night))
		require.Len(t, light, 33)
		for i := 17; i < 33; i++ {
			up, down := light[i]-light[i-1], light[32-i]-light[33-i]
			want := -68. / 16
			if night {
				want = 68. / 16
			}
			assert.InDelta(t, want, up, .5, "step %d, night %v", i, night)
			assert.InDelta(t, want, down, .5, "step %d down, night %v", i, night)
		}
	}
}

// The figures between the sweep's points, and the centre of gravity with the pilot
// somewhere.
func TestCurveReadsBetweenPoints(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.JSONEq(t, `[
		{"clearance_m": 0.1, "cp_m": 2, "pitch_deg": 3, "stable": true},
		{"clearance_m": 0.15, "cp_m": 2.5, "pitch_deg": null, "stable": false},
		{"clearance_m": 0.2, "cp_m": 3, "pitch_deg": null, "stable": false},
		{"clearance_m": 0.05, "cp_m": 2, "pitch_deg": 3, "stable": true},
		{"clearance_m": 9, "cp_m": 3, "pitch_deg": null, "stable": false},
		null, 1.75, 1.2, null]`, js[string](b, `
		const c = await import("/js/curve.js");
		const points = c.points({columns: ["clearance_m", "cp_m", "pitch_deg", "stable"], rows: [[0.1, 2, 3, true], [0.2, 3, null, false]]});
		const heights = {pilot: {forward_m: 1, aft_m: 2}, band: {forward_m: 1.5, aft_m: 2}};
		return JSON.stringify([...[0.1, 0.15, 0.2, 0.05, 9].map((z) => c.at(points, z)), c.at([], 0.1),
			c.cgWithPilot(heights, 1.5), c.cgWithPilot({pilot: {forward_m: 1, aft_m: 1}, band: {forward_m: 1.2, aft_m: 1.2}}, 1), c.cgWithPilot(heights, null)]);`))
}

func TestUnitsOfThePage(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.JSONEq(t, `{
		"metric": ["0.25 m", "50.0 km/h", "−3.2°", "–", "0.00 m", "0.254", "+0.10", "same"],
		"us": ["9.8 in", "31.1 mph", "−3.2°", "–", "0.0 in", "10.0\"", "+3.9\"", "same"],
		"read": [1.5, 1.5, -2, 0.5, 1000, null, null, null, null, null],
		"feet": ["5 ft 10.9 in", "2 ft 0.0 in", "−1 ft 0.0 in", "5' 10.9\""],
		"typed": [5.5, 5.5, 0.5, -1, 6, null, null],
		"marks": ["1' 11.6\"", "2' 0.0\"", "0.60"],
		"axis": ["0", "6\"", "1'", "1' 6\"", "2'"], "deep": ["−1'", "0", "1'"], "plain": ["0.0", "0.2", "0.4", "0.6"],
		"back": [0, 0, 0]}`, js[string](b, `
		const u = await import("/js/units.js"), out = {};
		for (const system of ["metric", "us"]) {
			u.units.system = system;
			out[system] = [u.tell("length", 0.25), u.tell("speed", 50 / 3.6), u.tell("angle", -3.2), u.tell("force", NaN), u.tell("length", -0.001), u.field("length", 0.254), u.change("length", 0.1), u.change("length", 1e-4)];
		}
		out.read = ["1.5", "1,5", "−2", ".5", "1e3", "", "1.2x", "1.5.2", "Infinity", "0x10"].map(u.parse);
		out.feet = [u.tell("length", 1.8), u.tell("length", 0.6095), u.tell("length", -0.3048), u.field("length", 1.8)];
		out.typed = ["5' 6\"", "5 ft 6 in", "6 in", "-1'", "6'", "5' 6", "'"].map(u.parse);
		out.marks = [u.figure("length", 0.6), u.figure("length", 0.6095)];
		out.axis = u.axis("length", 0, 0.61, 5).text;
		out.deep = u.axis("length", -0.31, 0.31, 3).text;
		u.units.system = "metric";
		out.marks.push(u.figure("length", 0.6));
		out.plain = u.axis("length", 0, 0.61, 4).text;
		u.units.system = "us";
		// What is typed in US units reads the same again.
		out.back = [["length", 0.82], ["speed", 31.1], ["mass", 154]].map(([k, v]) => Math.abs(u.show(k, u.take(k, v)) - v) > 1e-4 ? v : 0);
		return JSON.stringify(out);`))
}

func TestHistoryOfEdits(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.JSONEq(t, `{"drag": 3, "undone": 1, "again": 3, "steps": 1, "kept": 200, "idle": 0, "forked": false, "own": 7}`, js[string](b, `
		const { State } = await import("/js/state.js"), out = {};
		const s = new State({v: 1, craft: {v: 0}});
		for (const v of [2, 3]) s.edit((n) => { n.v = v; }); // one drag
		s.settle();
		out.drag = s.now.v; out.steps = s.past.length;
		s.undo(); out.undone = s.now.v;
		s.redo(); out.again = s.now.v;
		const idle = new State({v: 1}); idle.edit(() => {}); idle.settle(); out.idle = idle.past.length;
		s.undo(); s.edit((n) => { n.v = 9; }); s.settle(); out.forked = s.redo(); // a new edit ends the undone one
		const given = {v: 5, craft: {v: 7}};
		s.replace(given); given.craft.v = 8; out.own = s.now.craft.v; // a copy of its own
		for (let v = 0; v < 300; v++) { s.edit((n) => { n.v = 1000 + v; }); s.settle(); }
		out.kept = s.past.length;
		return JSON.stringify(out);`))
}

func TestLinkGoesThereAndBack(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.JSONEq(t, `{"back": {"craft": {"name": "Grèbe ≥ 2", "wings": [1.5, null]}}, "none": null, "damaged": true, "plain": true}`, js[string](b, `
		const { pack, unpack } = await import("/js/link.js"), out = {};
		const text = await pack({craft: {name: "Grèbe ≥ 2", wings: [1.5, null]}});
		out.back = await unpack("#" + text);
		out.none = await unpack("#other");
		out.damaged = await unpack("#" + text.slice(0, -6)).then(() => false, () => true);
		out.plain = /^craft=[\w-]+$/.test(text);
		return JSON.stringify(out);`))
}

// A pitched craft's lowest point has the clearance that is asked for.
func TestShapeStandsOverTheWater(t *testing.T) {
	t.Parallel()
	b := bare(t)
	for _, c := range js[[][]float64](b, `
		const { turner, heightAt } = await import("/js/shape.js");
		const side = {wings: [{sections: [[[0, 0], [1, 0.05]], [[3, 0.2], [4, 0.2]]], plates: [[[3, 0.2], [4, 0.2], [4, -0.1]]]}], floats: [], weights: []};
		return [-4, 0, 3, 12].map((deg) => {
			const h = heightAt(side, deg, 0.3), turn = turner(deg, h), low = Math.min(...[[0, 0], [1, 0.05], [3, 0.2], [4, 0.2], [4, -0.1]].map(([x, z]) => turn(x, z)[1]));
			return [low, turn(0, 0)[1] - h];
		});`) {
		assert.InDelta(t, .3, c[0], 1e-12)
		assert.InDelta(t, 0, c[1], 1e-12, "the datum is at its height")
	}
}

func TestPathsIntoTheCraftFile(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.JSONEq(t, `[["wings", 0, "stations", 1, "chord_m"], 1.5, null, {"wings": [{"stations": [{}, {"chord_m": 2}]}], "tow": {"x_m": 0.4}}]`, js[string](b, `
		const c = await import("/js/craft.js");
		const craft = {wings: [{stations: [{}, {chord_m: 1.5}]}]};
		const was = c.get(craft, "wings[0].stations[1].chord_m"), none = c.get(craft, "tow.x_m") ?? null;
		c.set(craft, "wings[0].stations[1].chord_m", 2);
		c.set(craft, "tow.x_m", 0.4);
		return JSON.stringify([c.keys("wings[0].stations[1].chord_m"), was, none, craft]);`))
}

// A made-up solver answers late, out of order, with objections, or drops what it is
// told to drop. Whatever a hand does meanwhile, the page comes to rest with the fine
// answers to its last change, or refused; and on the way nothing shown ever gives way
// to something older, or to something coarser of the same change.
func TestTheFineAnswerIsNeverLost(t *testing.T) {
	t.Parallel()
	b := bare(t)
	faults := js[[]string](b, `
		const { Asking } = await import("/js/asking.js"), { Answers } = await import("/js/answers.js");
		let seed = 1;
		const random = () => (seed = (seed * 48271) % 2147483647) / 2147483647, wait = (ms) => new Promise((f) => setTimeout(f, ms));
		globalThis.Worker = class {
			dropped = new Set();
			postMessage({ id, ask, drop, behind }) {
				if (drop != null) { this.dropped.add(drop); return; }
				const q = JSON.parse(ask), done = performance.now() + (q.fidelity === "fine" ? 90 : 25) * random() * (behind ? 6 : q.ask === "towing" ? 4 : 1);
				const look = () => {
					if (performance.now() < done && !this.dropped.has(id)) { setTimeout(look, 4); return; }
					const a = q.craft.bad ? {id, ok: false, problems: [{path: "", text: "bad"}]} : {id, ok: true, of: q.craft.version, at: q.clearance_m};
					this.onmessage({data: {answer: JSON.stringify(a)}});
				};
				look();
			}
		};
		const PLACES = {heights: 0, nearby: 0, pose: 1, towing: 0, accuracy: 2, trust: 0};
		async function hand(n) {
			const faults = [], answers = new Answers(() => {});
			const now = {version: 0, clearance: 0, wings: 0, bad: false}, shown = {}, states = [];
			let objected = false, count = 0, got = null, dropped = new Set();
			const asking = new Asking({
				question: () => ({craft: {version: now.version, wings: now.wings, bad: now.bad}, clearance_m: now.clearance}),
				wings: (q) => String(q.craft.wings),
				ask: (kind, q, grade) => { count++; return answers.ask(kind, {...q, fidelity: grade}, {lane: grade === "fine" ? "fine" : "quick"}); },
				drop: (kind) => { dropped.add(kind); answers.drop(kind, "fine"); },
				ready: (q) => { count++; got = null; return answers.askBehind("leftOut", {...q, fidelity: "fine"}, () => {}).then(() => { got = q.craft.wings; }); },
				unready: () => answers.dropBehind(),
				old: (kind) => { delete shown[kind]; },
				object: () => { objected = true; if (!now.bad) faults.push(n + ": an objection to an earlier craft"); },
				tell: (s) => { states.push(s); if (s === "refused" && !now.bad) faults.push(n + ": a sound craft is refused"); },
				show: (answered) => {
					if ([answered.heights, answered.pose, answered.nearby].some((a) => a?.current)) objected = false; // as the page does
					for (const [kind, {answer, fine, current}] of Object.entries(answered)) {
						if (kind === "trust" && got !== now.wings) faults.push(n + ": trust before what it takes is ready");
						const was = shown[kind], is = {of: answer.of, at: kind === "pose" ? answer.at : 0, fine};
						if (was && (is.of < was.of || is.at < was.at)) faults.push(n + ": " + kind + " of an older change");
						if (was && is.of === was.of && is.at === was.at && was.fine && !fine) faults.push(n + ": a coarse " + kind + " over the fine one");
						if (current !== (kind === "accuracy" || is.of === now.version) && kind !== "pose") faults.push(n + ": " + kind + " is called current");
						shown[kind] = is;
					}
				},
			});
			for (let i = 0, moves = 1 + Math.floor(12 * random()); i < moves; i++) {
				dropped.clear();
				if (i && random() < 0.4) { now.clearance++; asking.clearanceChanged(); } else {
					now.version++;
					if (!i || random() < 0.5) now.wings++;
					now.bad = random() < 0.15;
					asking.craftChanged();
				}
				if (!dropped.has("towing") || !dropped.has("accuracy")) faults.push(n + ": what takes long does not make way");
				if (asking.state !== "moving") faults.push(n + ": a change, and the state is " + asking.state);
				await wait(random() < 0.5 ? 10 * random() : 200 * random());
			}
			const end = performance.now() + 20000;
			while (!["trusted", "refused"].includes(asking.state) && performance.now() < end) await wait(20);
			const want = now.bad ? "refused" : "trusted";
			if (asking.state !== want || objected !== now.bad) faults.push(n + ": ends " + asking.state + ", not " + want);
			if (!now.bad) for (const kind in PLACES) {
				const s = shown[kind];
				if (!s?.fine || (kind !== "accuracy" && s.of !== now.version) || (kind === "pose" && s.at !== now.clearance)) faults.push(n + ": " + kind + " is not the fine one of the last change");
			}
			const asked = count;
			await wait(150);
			if (count !== asked) faults.push(n + ": it asks on");
			for (let i = 1; i < states.length; i++) if (states[i] === states[i - 1]) faults.push(n + ": tells a state twice");
			return faults;
		}
		return (await Promise.all(Array.from({length: 60}, (_, n) => hand(n)))).flat();`)
	assert.Empty(t, faults)
}

// A sweep that is asked for once more while only the clearance moves belongs to the same
// change of the craft as the fine one, and never covers it.
func TestAMoveOfTheClearanceMakesNoSweepNewer(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.Equal(t, []string{"coarse heights of 1", "fine heights of 2"}, js[[]string](b, `
		const { Asking, REST } = await import("/js/asking.js"), wait = (ms) => new Promise((f) => setTimeout(f, ms));
		const asked = [], shown = [];
		let version = 0;
		const asking = new Asking({
			question: () => ({version}), wings: (q) => String(q.version), drop() {}, old() {}, object() {}, tell() {}, unready() {}, ready: () => Promise.resolve(),
			ask: (kind, q, grade) => new Promise((resolve) => asked.push({kind, grade, answer: () => resolve({of: q.version})})),
			show: (got) => { if (got.heights) shown.push((got.heights.fine ? "fine" : "coarse") + " heights of " + got.heights.answer.of); },
		});
		const answer = async (kind, grade) => {
			const i = asked.findIndex((a) => a.kind === kind && a.grade === grade);
			if (i < 0) return false;
			asked.splice(i, 1)[0].answer();
			await wait(5);
			return true;
		};
		version = 1; asking.craftChanged(); // a quick sweep is under way
		version = 2; asking.craftChanged(); // and waits
		await wait(2 * REST); // the hand rests: the fine sweep is asked for
		asking.clearanceChanged();
		await answer("heights", "coarse"); // of version 1; the next quick one is asked for
		while (await answer("pose", "coarse") || await answer("nearby", "coarse")) { /* what stands beside */ }
		await answer("heights", "fine");
		await answer("heights", "coarse");
		return shown;`))
}

// A fine sweep of wings that are no more makes way, also where the hand has come back to
// wings that are mapped; one of the present wings goes on while the speed changes.
func TestASweepOfFormerWingsMakesWay(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.Equal(t, []bool{false, true, false}, js[[]bool](b, `
		const { Asking, REST } = await import("/js/asking.js"), { Overtaken } = await import("/js/answers.js"), wait = (ms) => new Promise((f) => setTimeout(f, ms));
		let wings = "a", fine = true, dropped = false, reject = () => {};
		const asking = new Asking({
			question: () => ({wings}), wings: (q) => q.wings, old() {}, object() {}, tell() {}, show() {}, unready() {}, ready: () => Promise.resolve(),
			drop: (kind) => { if (kind === "heights") { dropped = true; reject(new Overtaken()); } },
			ask: (kind, q, grade) => (grade === "fine" && !fine ? new Promise((_, no) => { reject = no; }) : Promise.resolve({})),
		});
		const change = async (to) => { wings = to; dropped = false; asking.craftChanged(); const was = dropped; await wait(2 * REST); return was; };
		await change("a"); // mapped
		const out = [await change("a")]; // the speed has changed
		fine = false;
		await change("b"); // its fine sweep takes long
		out.push(await change("a"));
		await change("b");
		out.push(await change("b")); // the speed, while b is still being mapped
		return out;`))
}

// A solver that has stopped is an objection, not a wait without end.
func TestAStoppedSolverIsSaid(t *testing.T) {
	t.Parallel()
	b := bare(t)
	assert.Equal(t, "The solver has stopped.", js[string](b, `
		const { Answers, Objection } = await import("/js/answers.js");
		globalThis.Worker = class { postMessage() { this.onmessage({data: {failed: "The solver has stopped."}}); } };
		const answers = new Answers(() => {});
		const told = (e) => (e instanceof Objection ? e.problems[0].text : "no objection");
		const first = await answers.ask("heights").then(() => "answered", told), second = await answers.ask("pose").then(() => "answered", told);
		return first === second ? first : first + " / " + second;`))
}
