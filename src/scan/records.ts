/**
 * Cuts a stream of chunks into runs of whole fixed-length records. A record that straddles two chunks
 * is put together in a small carry buffer; everything else is decoded where it lies, without copying.
 *
 * @param stride bytes a record
 * @param limit records wanted; bytes after them are counted but not decoded
 * @param decode called with a view, the byte offset of the first record in it and the number of records
 */
export function splitRecords(
  stride: number,
  limit: number,
  decode: (view: DataView, offset: number, count: number) => void,
) {
  const carry = new Uint8Array(stride);
  const carryView = new DataView(carry.buffer);
  let carried = 0;
  let done = 0;
  let surplus = 0;

  return {
    push(chunk: Uint8Array): void {
      let at = 0;
      if (carried > 0 && done < limit) {
        const take = Math.min(stride - carried, chunk.length);
        carry.set(chunk.subarray(0, take), carried);
        carried += take;
        at = take;
        if (carried < stride) return;
        decode(carryView, 0, 1);
        done++;
        carried = 0;
      }
      const whole = Math.min(Math.floor((chunk.length - at) / stride), limit - done);
      if (whole > 0) {
        decode(new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength), at, whole);
        done += whole;
        at += whole * stride;
      }
      if (at < chunk.length) {
        if (done >= limit) surplus += chunk.length - at;
        else {
          carry.set(chunk.subarray(at), 0);
          carried = chunk.length - at;
        }
      }
    },
    /** Whole records decoded, bytes of an unfinished one, bytes beyond the last one wanted. */
    state: () => ({ done, carried, surplus }),
  };
}
