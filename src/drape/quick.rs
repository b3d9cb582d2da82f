//! Maps by whole numbers that are looked up millions of times.

use std::collections::{HashMap, HashSet};
use std::hash::{BuildHasherDefault, Hasher};

/// The side of a tile of [`Tiles`], in its numbers, as a power of two.
const TILE_BITS: u32 = 4;
const TILE: usize = 1 << TILE_BITS;

/// No entry.
const EMPTY: u32 = u32::MAX;

/// Numbers by two whole numbers each, most of which are neighbours: those that are near each other lie near each other
/// in memory too.
#[derive(Clone, Debug, Default)]
pub(super) struct Tiles {
    places: QuickMap<(i32, i32), u32>,
    entries: Vec<[u32; TILE * TILE]>,
}

impl Tiles {
    pub(super) fn get(&self, at: (i32, i32)) -> Option<u32> {
        let tile = *self.places.get(&tile_of(at))?;
        let own = self.entries[tile as usize][within(at)];
        (own != EMPTY).then_some(own)
    }

    /// `own` must not be the largest number there is.
    pub(super) fn insert(&mut self, at: (i32, i32), own: u32) {
        let next = self.entries.len() as u32;
        let tile = *self.places.entry(tile_of(at)).or_insert(next);
        if tile == next {
            self.entries.push([EMPTY; TILE * TILE]);
        }
        self.entries[tile as usize][within(at)] = own;
    }
}

const fn tile_of((i, j): (i32, i32)) -> (i32, i32) {
    (i >> TILE_BITS, j >> TILE_BITS)
}

const fn within((i, j): (i32, i32)) -> usize {
    let low = TILE as i32 - 1;
    ((i & low) as usize) << TILE_BITS | (j & low) as usize
}

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
