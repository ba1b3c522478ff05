// A craft in the address: JSON, deflated, base64url, after "#craft=". Browsers never send that part.

async function through(stream, bytes) {
  const w = stream.writable.getWriter();
  // A broken stream rejects here and in the read below; the read is the one that is reported.
  w.write(bytes).catch(() => {});
  w.close().catch(() => {});
  return new Uint8Array(await new Response(stream.readable).arrayBuffer());
}

/** The fragment (without "#") that carries the value. */
export async function pack(value) {
  const z = await through(new CompressionStream("deflate-raw"), new TextEncoder().encode(JSON.stringify(value)));
  let bin = "";
  for (const b of z) bin += String.fromCharCode(b);
  return "craft=" + btoa(bin).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

/** The value in a fragment, or null when it carries none; throws when it is damaged. */
export async function unpack(fragment) {
  const m = /^#?craft=([\w-]+)$/.exec(fragment);
  if (!m) return null;
  const bin = atob(m[1].replaceAll("-", "+").replaceAll("_", "/"));
  const z = Uint8Array.from(bin, (c) => c.charCodeAt(0));
  return JSON.parse(new TextDecoder().decode(await through(new DecompressionStream("deflate-raw"), z)));
}
