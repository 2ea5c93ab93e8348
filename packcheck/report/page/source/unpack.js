// Meshes come packed: base64 of gzip of, for each part, its corners (three uint16 shares of its box) and, after all
// corners of all parts, its faces (three uint32 places in its own corners).

export async function unpacked(parts, text) {
  const bytes = Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const buffer = await new Response(stream).arrayBuffer();
  let corner = 0;
  let face = 6 * parts.reduce((sum, part) => sum + part.corners, 0);
  face += face % 4;
  return parts.map((part) => {
    const shares = new Uint16Array(buffer, corner, 3 * part.corners);
    const faces = new Uint32Array(buffer, face, 3 * part.faces);
    corner += 6 * part.corners;
    face += 12 * part.faces;
    return {corners: placed(shares, part.low, part.high), faces};
  });
}

function placed(shares, low, high) {
  const corners = new Float32Array(shares.length);
  for (let k = 0; k < shares.length; k++) {
    const axis = k % 3;
    corners[k] = low[axis] + (high[axis] - low[axis]) * shares[k] / 65535;
  }
  return corners;
}
