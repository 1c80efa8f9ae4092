//! The list of commands. A new one: its file with its card, and one line here.

use super::card::Commands;
#[cfg(any(test, not(feature = "program")))]
use super::card::{CommandCard, Effect};

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

/// Those that a page has.
#[cfg(any(test, not(feature = "program")))]
pub const OF_A_PAGE: Commands = &of_a_page::<{ of_a_page::<0>().1 }>().0;

/// The first `N` of them, and how many there are. Chosen while compiling, so that the module of the page holds no other command.
#[cfg(any(test, not(feature = "program")))]
const fn of_a_page<const N: usize>() -> ([&'static CommandCard; N], usize) {
    let (mut cards, mut count, mut at) = ([ALL[0]; N], 0, 0);
    while at < ALL.len() {
        if matches!(ALL[at].effect, Effect::Answers) {
            if count < N {
                cards[count] = ALL[at];
            }
            count += 1;
        }
        at += 1;
    }
    (cards, count)
}
