// Runs a Go solver off the page's thread, the one that the worker is named after. In: {id, ask: jsonText, behind} or {drop: id} or {hold: on}; what is asked
// behind stands back for the rest, and rests while it is held. Out: {ready: true}, {answer: jsonText}, {progress: share, id} or {failed: sentence}.

import "../wasm_exec.js";

async function start() {
  const go = new globalThis.Go();
  const source = new URL(`../${self.name}.wasm`, import.meta.url);
  let made;
  try {
    made = await WebAssembly.instantiateStreaming(fetch(source), go.importObject);
  } catch {
    // A host that does not say application/wasm: compile from bytes.
    const bytes = await (await fetch(source)).arrayBuffer();
    made = await WebAssembly.instantiate(bytes, go.importObject);
  }
  go.run(made.instance).then(
    () => postMessage({ failed: "The solver has stopped. Reload the page; the link and the saved file keep the craft." }),
    (e) => postMessage({ failed: `The solver has stopped (${e.message}). Reload the page; the link and the saved file keep the craft.` }),
  );
  return globalThis.craftAnswers;
}

const started = start();
started.then(
  () => postMessage({ ready: true }),
  (e) => postMessage({ failed: `The solver could not be loaded: ${e.message}` }),
);

onmessage = async ({ data }) => {
  let answers;
  try {
    answers = await started;
  } catch {
    return; // said above
  }
  if (data.drop != null) return answers.drop(data.drop);
  if (data.hold != null) return answers.hold(data.hold);
  postMessage({ answer: await answers.ask(data.id, data.ask, (progress) => postMessage({ progress, id: data.id }), data.behind === true) });
};
