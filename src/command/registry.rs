//! The list of commands. A new one: its file with its card, and one line here.

use super::card::Commands;

/// The commands in the order of the help.
pub const ALL: Commands = &[
    &super::check::CARD,
    &super::suits::CARD,
    &super::fasten::CARD,
    &super::find::CARD,
    &super::show::CARD,
    &super::series::CARD,
    &super::thread::CARD,
    &super::formula::CARD,
    &super::compare::CARD,
    &super::plan::CARD,
    &super::import::CARD,
    &super::audit::CARD,
    &super::review::CARD,
    &super::why::CARD,
    &super::new::CARD,
    &super::add::CARD,
    &super::tidy::CARD,
    &super::trace::CARD,
    &super::trace::AFFECTED,
    &super::amend::CARD,
    &super::amend::WITHDRAW,
    &super::recheck::CARD,
    &super::gaps::CARD,
    &super::export::CARD,
    #[cfg(feature = "program")]
    &super::page::CARD,
    #[cfg(feature = "program")]
    &super::shell::CARD,
];

/// Those that a page has: they answer, and look at no file of a folder.
#[cfg(any(test, not(feature = "program")))]
pub const OF_A_PAGE: Commands = &[
    &super::suits::CARD,
    &super::fasten::CARD,
    &super::find::CARD,
    &super::show::CARD,
    &super::series::CARD,
    &super::thread::CARD,
    &super::formula::CARD,
    &super::compare::CARD,
    &super::plan::CARD,
    &super::why::CARD,
    &super::trace::CARD,
    &super::gaps::CARD,
    &super::export::CARD,
];
