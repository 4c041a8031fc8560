/** Pictures of a moment, out of the bytes in which they come (see impactcut/review/packing.py). */

const HEAD_LENGTH = 4;

/**
 * The head of a pack, and each picture as a Blob.
 * @param {ArrayBuffer} buffer
 * @returns {{first: number, width: number, height: number, flashes: import("./source.js").Flashes,
 *   timecodes: (string | null)[], type: string, blobs: Blob[]}}
 */
export function readPack(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, HEAD_LENGTH, length)));
  let at = HEAD_LENGTH + length;
  const blobs = head.sizes.map((size) => {
    const blob = new Blob([new Uint8Array(buffer, at, size)], { type: head.type });
    at += size;
    return blob;
  });
  if (at !== buffer.byteLength) throw new Error("the pictures came incomplete");
  const { first, width, height, flashes, timecodes = [], type } = head;
  return { first, width, height, flashes, timecodes, type, blobs };
}

/**
 * The one pack that was decoded before it is asked for; more would fill the memory.
 * @type {{buffer: ArrayBuffer, run: ReturnType<typeof decode>} | null}
 */
let ready = null;

/** Has a pack decoded before it is asked for. */
export function decodeAhead(buffer) {
  if (ready?.buffer === buffer) return;
  ready?.run.then((run) => run.close()).catch(() => null);
  const run = decode(buffer);
  run.catch(() => null);
  ready = { buffer, run };
}

/** A pack with its pictures decoded, ready to be drawn; `close` gives the memory back. */
export function decodePack(buffer) {
  if (ready === null || ready.buffer !== buffer) return decode(buffer);
  const { run } = ready;
  ready = null;
  return run;
}

async function decode(buffer) {
  const { blobs, type, ...head } = readPack(buffer);
  const bitmaps = type.startsWith("image/")
    ? await Promise.all(blobs.map((blob) => createImageBitmap(blob)))
    : await decodeFilm(type, head, blobs);
  return {
    ...head,
    bitmaps,
    close() {
      for (const bitmap of bitmaps) bitmap.close();
    },
  };
}

/** Pictures out of packets, of which each needs those before it. */
async function decodeFilm(codec, { width, height }, packets) {
  if (!("VideoDecoder" in window)) {
    throw new Error("this browser is too old for it; open the page in a newer one");
  }
  /** @type {Promise<ImageBitmap>[]} */
  const pictures = [];
  await new Promise((done, failed) => {
    const decoder = new VideoDecoder({
      output(frame) {
        pictures.push(createImageBitmap(frame).finally(() => frame.close()));
      },
      error: failed,
    });
    /** @type {VideoColorSpaceInit} */
    const colorSpace = { matrix: "bt709", primaries: "bt709", transfer: "bt709", fullRange: false };
    decoder.configure({ codec, codedWidth: width, codedHeight: height, colorSpace });
    feed(decoder, packets).then(done, failed);
  });
  if (pictures.length !== packets.length) throw new Error("the pictures came incomplete");
  return Promise.all(pictures);
}

async function feed(decoder, packets) {
  for (const [timestamp, packet] of packets.entries()) {
    const type = timestamp === 0 ? "key" : "delta";
    decoder.decode(new EncodedVideoChunk({ type, timestamp, data: await packet.arrayBuffer() }));
  }
  await decoder.flush();
  decoder.close();
}
