//! The offsets of the pairs of parts that met last: with many hundred different shapes there is no
//! room for those of all pairs, but a piece that looks for a place meets the same few again and
//! again.

use super::part::BLOCK;

/// Pairs remembered. A pair of middling size takes about 150 bytes.
const N_SLOTS: usize = 1 << 15;

/// Blocks of offsets of the part pairs met last, each pair in the one slot that it can have.
#[derive(Clone, Debug, Default)]
pub(in super::super) struct Recent {
    slots: Vec<RecentPair>,
}

#[derive(Clone, Debug)]
struct RecentPair {
    pair: (usize, usize),
    offsets: Vec<[f32; BLOCK]>,
}

impl Recent {
    /// The offsets of a pair of parts, and whether `fill` had to find them, into an empty list.
    #[inline]
    pub(super) fn offsets(
        &mut self,
        pair: (usize, usize),
        fill: impl FnOnce(&mut Vec<[f32; BLOCK]>),
    ) -> (&[[f32; BLOCK]], bool) {
        if self.slots.is_empty() {
            let nobody = || RecentPair {
                pair: (usize::MAX, usize::MAX),
                offsets: Vec::new(),
            };
            self.slots.resize_with(N_SLOTS, nobody);
        }
        // Neighbouring numbers, as the parts of a piece have, to different slots.
        let mixed = (pair.0 as u64)
            .wrapping_mul(0x9e37_79b9_7f4a_7c15)
            .wrapping_add(pair.1 as u64)
            .wrapping_mul(0xd6e8_feb8_6659_fd93);
        let slot = &mut self.slots[(mixed >> 40) as usize % N_SLOTS];
        let is_new = slot.pair != pair;
        if is_new {
            slot.pair = pair;
            slot.offsets.clear();
            fill(&mut slot.offsets);
        }
        (&slot.offsets, is_new)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_remembered_is_that_pair_s() {
        let mut recent = Recent::default();
        let block = |pair: (usize, usize)| [pair.0 as f32, pair.1 as f32, 0.0, 0.0];
        let mut n_found = 0;
        for round in 0..3 {
            for pair in (0..300).flat_map(|a| (0..100).map(move |b| (a, b))) {
                // In the last round, each pair twice in a row.
                for again in 0..=u32::from(round == 2) {
                    let (offsets, is_new) = recent.offsets(pair, |list| list.push(block(pair)));
                    assert_eq!(offsets, [block(pair)]);
                    assert!(!is_new || again == 0);
                    n_found += u32::from(!is_new);
                }
            }
        }
        assert!(n_found >= 30_000);
    }
}
