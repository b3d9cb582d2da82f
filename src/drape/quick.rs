//! Maps by whole numbers that are looked up millions of times.

use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hasher};

pub(super) type QuickMap<K, V> = HashMap<K, V, BuildHasherDefault<QuickHasher>>;
pub(super) type QuickSet<K> = HashSet<K, BuildHasherDefault<QuickHasher>>;

/// Mixes whole numbers by multiplication. Keys are counted from the start of a cloth, nobody chooses them, so
/// the standard library's slower guard against chosen keys is not needed.
#[derive(Default)]
pub(super) struct QuickHasher(u64);

/// An odd number without a pattern: 2⁶⁴ by the golden ratio.
const MIX: u64 = 0x9e37_79b9_7f4a_7c15;

impl Hasher for QuickHasher {
    fn write(&mut self, bytes: &[u8]) {
        for part in bytes.chunks(4) {
            let mut word = [0; 4];
            word[..part.len()].copy_from_slice(part);
            self.write_u32(u32::from_le_bytes(word));
        }
    }

    fn write_u32(&mut self, word: u32) {
        self.0 = (self.0.rotate_left(29) ^ u64::from(word)).wrapping_mul(MIX);
    }

    fn write_i32(&mut self, word: i32) {
        self.write_u32(word.cast_unsigned());
    }

    fn finish(&self) -> u64 {
        self.0 ^ (self.0 >> 32)
    }
}
