//! What a coded mark says: a black frame around 6 × 6 squares, 21 bits of meaning and 15 that check them.

use super::board::{Board, BoardMark, BoardPaper, BoardSheet};

/// Squares along a side, the frame's own included.
pub const CELLS: usize = 8;
/// Squares along a side within the frame.
const INNER: usize = CELLS - 2;
/// Bits that check the others.
const CHECK_BITS: u32 = 15;
/// Generator polynomial of the check (ISO 11898-1, the 15-bit sequence of CAN), without its first term.
const POLYNOMIAL: u64 = 0x4599;
/// Turned over in every mark, so that none is nearly black or white.
const SPRINKLED: u64 = 0x0A_53C6_9A35;
const PAPERS: [BoardPaper; 5] = [
    BoardPaper::A4,
    BoardPaper::A3,
    BoardPaper::Letter,
    BoardPaper::Tabloid,
    BoardPaper::One,
];

/// What a mark says: which mark it is, of which board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct MarkCode {
    /// The board.
    pub board: Board,
    /// The mark.
    pub mark: BoardMark,
}

impl MarkCode {
    /// Whether the square in `column` (from the left) and `row` (from the top) of the mark is black.
    #[must_use]
    pub fn is_black(&self, column: usize, row: usize) -> bool {
        let inner = |n: usize| (1..=INNER).contains(&n);
        if !inner(column) || !inner(row) {
            return true;
        }
        self.bits() >> ((row - 1) * INNER + column - 1) & 1 == 1
    }

    fn bits(&self) -> u64 {
        let paper = PAPERS
            .iter()
            .position(|&p| p == self.board.paper)
            .unwrap_or(0);
        let fields = [
            (paper, 3),
            (self.mark.corner, 2),
            (self.mark.tile.column, 4),
            (self.mark.tile.row, 4),
            (self.board.columns - 1, 4),
            (self.board.rows - 1, 4),
        ];
        let said = fields
            .iter()
            .fold(0, |bits, &(value, width)| bits << width | value as u64);
        (said << CHECK_BITS | check(said)) ^ SPRINKLED
    }

    /// Reads a mark; `is_black` tells of the square in a column from the left and a row from the top.
    /// Returns it with the number of quarter turns, counter-clockwise, by which it was seen turned.
    pub(super) fn read(is_black: impl Fn(usize, usize) -> bool) -> Option<(Self, usize)> {
        (0..4).find_map(|turns| {
            let mut bits = 0;
            for row in 0..INNER {
                for column in 0..INNER {
                    // Where the square is seen that is here when the mark is upright.
                    let (mut c, mut r) = (column, row);
                    for _ in 0..turns {
                        (c, r) = (r, INNER - 1 - c);
                    }
                    bits |= u64::from(is_black(c + 1, r + 1)) << (row * INNER + column);
                }
            }
            Some((Self::of_bits(bits)?, turns))
        })
    }

    fn of_bits(bits: u64) -> Option<Self> {
        let bits = bits ^ SPRINKLED;
        let said = bits >> CHECK_BITS;
        if check(said) != bits & ((1 << CHECK_BITS) - 1) {
            return None;
        }
        let field = |from: u32, width: u32| (said >> from & ((1 << width) - 1)) as usize;
        let board = Board {
            paper: *PAPERS.get(field(18, 3))?,
            columns: field(4, 4) + 1,
            rows: field(0, 4) + 1,
        };
        let mark = BoardMark {
            corner: field(16, 2),
            tile: BoardSheet {
                column: field(12, 4),
                row: field(8, 4),
            },
        };
        board.holds(mark).then_some(Self { board, mark })
    }
}

/// The check of 21 bits: the remainder of their polynomial.
fn check(said: u64) -> u64 {
    let mut rest = said << CHECK_BITS;
    for bit in (CHECK_BITS..36).rev() {
        if rest >> bit & 1 == 1 {
            rest ^= (1 << CHECK_BITS | POLYNOMIAL) << (bit - CHECK_BITS);
        }
    }
    rest
}
