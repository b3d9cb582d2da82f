//! The knife and the machine that carries it: the tables `[output.knife]` and `[output.gcode]`.

use crate::job::keys::{Checked, OneOf, Quantity, SomeText, keys};
use crate::job::reader::JobReader;
use crate::job::rules::{AngleRule, LengthRule};
use crate::job::table::JobTable;
use crate::units::{Angle, Length, Speed};
use crate::words::{Word, words};

/// The knife, and how its path is corrected.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Knife {
    /// The path is the line itself: lasers, rotary blades, and machines that correct it themselves.
    Plain,
    /// A blade that trails its axis.
    Drag {
        /// By how far the tip trails the axis.
        offset: Length,
        /// The blade is swivelled in place where the line turns by more than this.
        swivel_from: Angle,
    },
    /// A blade that is turned along the line by an axis of its own (G-code only).
    Tangential {
        /// The blade is lifted and turned where the line turns by more than this.
        lift_from: Angle,
    },
}

/// The dialect and the numbers of G-code.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Gcode {
    /// Height at which the knife travels.
    pub up: Length,
    /// Height at which it cuts.
    pub down: Length,
    /// Height at which a drag knife swivels; as deep as the cut if none.
    pub swivel: Option<Length>,
    /// Speed of cutting.
    pub feed: Speed,
    /// Lines before everything.
    pub header: String,
    /// Lines after everything.
    pub footer: String,
    /// Lines that take a pen; without them labels are not drawn.
    pub pen: Option<String>,
    /// Lines that take the knife.
    pub knife: Option<String>,
    /// Letter of the axis that turns a tangential knife.
    pub axis: char,
}

words! {
    /// Kinds of knife.
    pub(in crate::job) enum KnifeKind {
        Plain = "plain",
        Drag = "drag",
        Tangential = "tangential",
    }
}

words! {
    /// How large the numbers of HP-GL may be.
    pub enum HpglNumbers {
        /// As large as the roll asks for, 40 to the millimetre.
        Any = "any",
        /// At most [`HpglNumbers::LARGEST`] either way, coarser where the roll asks for it.
        SixteenBit = "16 bit",
    }
}

impl HpglNumbers {
    /// The largest number that 16 bits hold.
    ///
    /// # Source
    /// HP-GL chapter of a printer's manual: a clamped integer is −32 768 to 32 767.
    pub const LARGEST: u32 = 32_767;

    /// How far that reaches where a millimetre is 40 units.
    pub const REACH: Length = Length::mm(Self::LARGEST as f64 / 40.0);

    /// The frame that a machine with 16-bit numbers has unless the job says: with two units to a step.
    pub(in crate::job) const FRAME: Length = Length::mm(1600.0);
}

/// Where the line turns by more than this, a drag knife is swivelled. Common practice, no source.
const SWIVEL_FROM: Angle = Angle::degrees(15.0);
/// Where the line turns by more than this, a tangential knife is lifted. Common practice, no source.
const LIFT_FROM: Angle = Angle::degrees(30.0);

const BLADE_OFFSET: LengthRule = LengthRule::positive("blade offset")
    .help("a drag knife's tip trails its axis by this; a knife without it is `kind = \"plain\"`")
    .likely(0.1..=6.0)
    .most(30.0);
const OVERCUT: LengthRule = LengthRule::not_negative("overcut")
    .help("the cut goes on beyond its start by this: 0 mm or more")
    .likely(0.0..=10.0)
    .most(50.0);
const KNIFE_HEIGHT: LengthRule = LengthRule::any("height of the knife")
    .likely(-30.0..=100.0)
    .most(500.0);

const FEED: Checked<Quantity, Speed> = Checked {
    kind: Quantity,
    check: |reader, _, feed| {
        let help = "write the speed of cutting, for example \"3000 mm/min\"";
        reader.insist(
            feed.value.to_mm_per_min() > 0.0,
            &feed.place,
            "the feed is not above zero",
            help,
        )
    },
};

/// Letters of the axis that turns a knife.
impl Word for char {
    fn words() -> Vec<(&'static str, Self)> {
        vec![("A", 'A'), ("B", 'B'), ("C", 'C')]
    }
}

keys! {
    /// What `[output.knife]` says.
    KnifeKeys: "`[output.knife]`", "[output.knife]", "For HP-GL and G-code.";
    kind: KnifeKind = OneOf, Required, "drag", "`drag` trails its axis; `tangential` is turned by an axis of its own (G-code)";
    offset: Length = BLADE_OFFSET, Means("required for `drag`"), "0.5 mm", "drag: how far the tip trails the axis";
    swivel_from: Angle = AngleRule::Corner, Means("15 deg"), "20 deg", "drag: corners sharper than this are swivelled in an arc";
    lift_from: Angle = AngleRule::Corner, Means("30 deg"), "30 deg", "tangential: at corners sharper than this the knife is lifted and turned";
    overcut: Length = OVERCUT, Is("0 mm"), "1 mm", "how far a cut goes on beyond its start";
}

keys! {
    /// What `[output.gcode]` says.
    GcodeKeys: "`[output.gcode]`", "[output.gcode]", "Try a new machine with a pen on paper first.";
    up: Length = KNIFE_HEIGHT, Is("5 mm"), "5 mm", "height of the knife when it travels";
    down: Length = KNIFE_HEIGHT, Is("-0.5 mm"), "-0.5 mm", "height when it cuts";
    swivel: Length = KNIFE_HEIGHT, Means("as `down`"), "-0.2 mm", "height when a drag knife swivels";
    feed: Speed = FEED, Is("3000 mm/min"), "3000 mm/min", "speed of cutting";
    header: String = SomeText, Is("G21\nG90\nG17"), "G21 G90", "lines before everything";
    footer: String = SomeText, Is("M2"), "M2", "lines after everything";
    pen: String = SomeText, Means("labels are not drawn"), "T1 M6", "lines that take a pen";
    knife: String = SomeText, Means("none"), "T2 M6", "lines that take the knife";
    axis: char = OneOf, Is("A"), "A", "letter of the axis that turns a tangential knife";
}

/// Reads `[output.knife]`: the knife, and how far a cut goes on beyond its start.
pub(super) fn read_knife(reader: &mut JobReader, table: &JobTable<'_>) -> (Knife, Length) {
    let keys = KnifeKeys::read(reader, Some(table));
    let kind = keys.kind.value;
    if kind == Some(KnifeKind::Drag) {
        table.require(reader, keys.offset.key);
    }
    let useless = [
        (keys.offset.key, &keys.offset.at, KnifeKind::Drag),
        (keys.swivel_from.key, &keys.swivel_from.at, KnifeKind::Drag),
        (
            keys.lift_from.key,
            &keys.lift_from.at,
            KnifeKind::Tangential,
        ),
    ];
    for (key, at, of) in useless {
        if let (Some(kind), Some(at)) = (kind, at)
            && kind != of
        {
            let message = format!("`{}` does nothing with this kind of knife", key.name);
            reader.warn(&at.key, message, "leave it out, or change `kind`");
        }
    }
    let knife = match kind {
        Some(KnifeKind::Drag) => Knife::Drag {
            offset: keys.offset.value.unwrap_or(Length::mm(0.5)),
            swivel_from: keys.swivel_from.value.unwrap_or(SWIVEL_FROM),
        },
        Some(KnifeKind::Tangential) => Knife::Tangential {
            lift_from: keys.lift_from.value.unwrap_or(LIFT_FROM),
        },
        Some(KnifeKind::Plain) | None => Knife::Plain,
    };
    (knife, keys.overcut.value)
}

/// Reads `[output.gcode]`.
pub(super) fn read_gcode(reader: &mut JobReader, table: Option<&JobTable<'_>>) -> Gcode {
    let keys = GcodeKeys::read(reader, table);
    let gcode = Gcode {
        up: keys.up.value,
        down: keys.down.value,
        swivel: keys.swivel.value,
        feed: keys.feed.value,
        header: keys.header.value,
        footer: keys.footer.value,
        pen: keys.pen.value,
        knife: keys.knife.value,
        axis: keys.axis.value,
    };
    let is_low = |height: Length| height >= gcode.up;
    if let Some(table) = table
        && (is_low(gcode.down) || gcode.swivel.is_some_and(is_low))
    {
        let message = "the knife travels no higher than it cuts";
        let help = "`up` must be above `down` and `swivel`";
        reader.error(&table.header, message, help);
    }
    gcode
}
