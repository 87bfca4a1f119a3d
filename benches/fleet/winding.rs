//! One winding: what it is, and its line in the register.

use std::io::{self, Write};

use crate::dice::Dice;
use crate::groups::Group;
use crate::life::Life;
use crate::options::Options;

pub(crate) const REGISTER_HEADER: &[u8] =
    b"winding,site,area,rated_volts,rated_kw,construction,insulation,year_made,interval_days,group\n";

/// One winding.
pub(crate) struct Winding {
    /// Counted from nought.
    pub(crate) number: u64,
    pub(crate) group: &'static Group,
    pub(crate) life: Life,
    /// R60 over R30 when sound.
    pub(crate) absorption: f64,
    /// The tester that usually reads it.
    pub(crate) tester: u32,
    /// How many days before the end of a quarter its tests are due.
    pub(crate) ahead: f64,
    year_made: u32,
}

impl Winding {
    /// Draws a winding.
    pub(crate) fn new(number: u64, options: &Options, dice: &mut Dice) -> Self {
        dice.of_winding(number);
        let group = Group::of(number);
        Self {
            number,
            group,
            life: Life::draw(group, options.years(), options.tests, options.failing, dice),
            absorption: dice.between(1.1, 1.6),
            tester: 1 + (dice.uniform() * 24.0) as u32,
            ahead: dice.between(0.0, 30.0),
            year_made: 1975 + (dice.uniform() * 40.0) as u32,
        }
    }

    /// Writes its name.
    pub(crate) fn write_name(&self, out: &mut impl Write) -> io::Result<()> {
        write!(out, "M-{:06}", self.number + 1)
    }

    /// Writes its line of the register.
    pub(crate) fn write_nameplate(&self, out: &mut impl Write) -> io::Result<()> {
        let Group { name, site, area, construction, insulation, rated_volts, rated_kw, .. } = self.group;
        self.write_name(out)?;
        let (insulation, year) = (insulation.word(), self.year_made);
        writeln!(out, ",{site},{area},{rated_volts},{rated_kw},{construction},{insulation},{year},91,{name}")
    }
}
