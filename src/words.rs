//! Enums whose values are words in a job file.

/// An enum whose values are words in a job file.
pub(crate) trait Word: Copy + PartialEq + 'static {
    /// All of them, in the order in which they are listed to users.
    fn words() -> Vec<(&'static str, Self)>;
}

/// Declares an enum whose values are words, with `ALL`, `word` and its [`Word`]s: a new value cannot
/// be left out of the list.
macro_rules! words {
    ($(#[$about:meta])* $vis:vis enum $name:ident {
        $($(#[$of_value:meta])* $value:ident = $word:literal,)*
    }) => {
        $(#[$about])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        $vis enum $name {
            $($(#[$of_value])* $value,)*
        }

        impl $name {
            /// All of them, in the order in which they are listed to users.
            #[allow(dead_code, reason = "some are only read, not listed")]
            $vis const ALL: [Self; [$($word),*].len()] = [$(Self::$value),*];

            /// The word for it in a job file.
            #[allow(dead_code, reason = "some are only read, not written")]
            #[must_use]
            $vis const fn word(self) -> &'static str {
                match self {
                    $(Self::$value => $word,)*
                }
            }
        }

        impl $crate::words::Word for $name {
            fn words() -> Vec<(&'static str, Self)> {
                vec![$(($word, Self::$value)),*]
            }
        }
    };
}
pub(crate) use words;
