//! Answers of costly pure functions, kept for the next time the same is asked.
//!
//! While a job is worked on, it is planned again after every change, and most of it is as before. A question is
//! known again by its value alone, so that an answer from here is the one that would be worked out.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, DefaultHasher};
use std::sync::{Mutex, PoisonError};

/// The value of a question: every number of it, bit by bit.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub(crate) struct Asked(Vec<u64>);

impl Asked {
    /// With a number.
    pub(crate) fn number(mut self, number: f64) -> Self {
        self.0.push(number.to_bits());
        self
    }

    /// With a number of things.
    pub(crate) fn count(mut self, count: usize) -> Self {
        self.0.push(count as u64);
        self
    }
}

/// What was asked lately, with the answers.
///
/// There are two halves: what is asked goes into the young one; when that is full, it becomes the old one, whose
/// answers are forgotten unless somebody has asked for them meanwhile.
pub(crate) struct Memo<V> {
    /// So many numbers the questions of one half may have together.
    most: usize,
    halves: Mutex<Halves<V>>,
}

/// Questions are long and begin alike: told apart by their hash, not in order.
type Answers<V> = HashMap<Asked, V, BuildHasherDefault<DefaultHasher>>;

struct Halves<V> {
    young: Answers<V>,
    old: Answers<V>,
    /// How many numbers the questions of the young half have.
    n: usize,
}

impl<V: Clone> Memo<V> {
    pub(crate) const fn new(most: usize) -> Self {
        Self {
            most,
            halves: Mutex::new(Halves {
                young: HashMap::with_hasher(BuildHasherDefault::new()),
                old: HashMap::with_hasher(BuildHasherDefault::new()),
                n: 0,
            }),
        }
    }

    /// The answer to `asked`, from `work` unless it is known.
    pub(crate) fn get(&self, asked: Asked, work: impl FnOnce() -> V) -> V {
        if is_cold() {
            return work();
        }
        let known = self.lock(|halves| halves.known(&asked, self.most));
        known.unwrap_or_else(|| {
            // Others may ask meanwhile.
            let answer = work();
            self.lock(|halves| halves.keep(asked, answer.clone(), self.most));
            answer
        })
    }

    fn lock<T>(&self, act: impl FnOnce(&mut Halves<V>) -> T) -> T {
        act(&mut self.halves.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

impl<V: Clone> Halves<V> {
    fn known(&mut self, asked: &Asked, most: usize) -> Option<V> {
        if let Some(answer) = self.young.get(asked) {
            return Some(answer.clone());
        }
        let (asked, answer) = self.old.remove_entry(asked)?;
        self.keep(asked, answer.clone(), most);
        Some(answer)
    }

    fn keep(&mut self, asked: Asked, answer: V, most: usize) {
        // One question alone that is too large is not kept.
        let n = asked.0.len();
        if n > most {
            return;
        }
        if self.n + n > most {
            self.old = std::mem::take(&mut self.young);
            self.n = 0;
        }
        self.n += n;
        self.young.insert(asked, answer);
    }
}

#[cfg(not(test))]
const fn is_cold() -> bool {
    false
}

#[cfg(test)]
thread_local! {
    static COLD: std::cell::Cell<bool> = const { std::cell::Cell::new(false) };
}

#[cfg(test)]
fn is_cold() -> bool {
    COLD.get()
}

/// Does `work` with nothing remembered, as far as it is done in this thread.
#[cfg(test)]
pub(crate) fn cold<T>(work: impl FnOnce() -> T) -> T {
    COLD.set(true);
    let done = work();
    COLD.set(false);
    done
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_again_is_kept_and_the_rest_forgotten() {
        let memo = Memo::new(10);
        let n_worked = std::cell::Cell::new(0);
        let ask = |which: u64| {
            memo.get(Asked(vec![which, 0]), || {
                n_worked.set(n_worked.get() + 1);
                which * which
            })
        };
        for which in 0..40 {
            assert_eq!((ask(which), ask(3)), (which * which, 9));
        }
        // The third was worked out once in all, each other one once.
        assert_eq!(n_worked.get(), 40);
        let n_kept = memo.lock(|halves| halves.young.len() + halves.old.len());
        assert!(n_kept <= 10, "{n_kept}");
        assert_eq!(ask(5), 25);
        assert_eq!(n_worked.get(), 41);
        cold(|| ask(5));
        assert_eq!(n_worked.get(), 42);
    }
}
