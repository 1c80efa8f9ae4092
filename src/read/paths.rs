//! Paths in order with what is remembered of each, as compact bytes. They stand in blocks, so that all cores share the
//! work of putting them and of finding them again.

use super::compact::{Decoder, Encoder};
use rayon::prelude::*;

/// Paths in a block.
const BLOCK: usize = 1024;

/// Puts items, which are in the order of their paths.
pub fn put<'i, T: Sync>(
    to: &mut Encoder,
    items: &'i [T],
    path: impl Fn(&'i T) -> &'i str + Sync,
    one: impl Fn(&mut Encoder, &T) + Sync,
) {
    let block = |items: &'i [T]| {
        let (mut to, mut before) = (Encoder::default(), "");
        for item in items {
            let path = path(item);
            let shared = before.bytes().zip(path.bytes()).take_while(|(a, b)| a == b).count();
            to.number(shared as u64);
            to.bytes(&path.as_bytes()[shared..]);
            one(&mut to, item);
            before = path;
        }
        to.0
    };
    let blocks: Vec<Vec<u8>> = items.par_chunks(BLOCK).map(block).collect();
    to.number(blocks.len() as u64);
    for (items, bytes) in items.chunks(BLOCK).zip(blocks) {
        to.text(path(&items[0]));
        to.number(items.len() as u64);
        to.bytes(&bytes);
    }
}

/// Paths that were put.
#[derive(Debug, Default)]
pub struct Paths<'a>(Vec<Block<'a>>);

#[derive(Debug)]
struct Block<'a> {
    first: &'a str,
    count: usize,
    bytes: &'a [u8],
}

/// What was kept of each of some paths; and whether something was kept of a path that is not among them.
#[derive(Debug)]
pub struct Aligned<T> {
    /// In the order of the paths.
    pub kept: Vec<Option<T>>,
    /// Whether a path is gone.
    pub gone: bool,
}

impl<'a> Paths<'a> {
    /// Takes what [`put`] wrote.
    pub fn take(from: &mut Decoder<'a>) -> Option<Self> {
        from.list(|from| Some(Block { first: from.text()?, count: from.count()?, bytes: from.bytes()? })).map(Paths)
    }
    /// How many there are.
    pub fn count(&self) -> usize {
        self.0.iter().map(|block| block.count).sum()
    }
    /// Finds for each of `items`, which are in the order of their paths, what was kept of it. `one` takes that, and says
    /// what it is worth for the item, if there still is one; `None` when the bytes cannot be right.
    pub fn align<I: Sync, T: Send>(
        &self,
        items: &[I],
        path: impl Fn(&I) -> &str + Sync,
        one: impl Fn(&mut Decoder<'a>, Option<&I>) -> Option<Option<T>> + Sync,
    ) -> Option<Aligned<T>> {
        let begins = |block: &Block<'_>| items.partition_point(|item| path(item) < block.first);
        let mut bounds: Vec<usize> = self.0.iter().map(begins).collect();
        bounds.push(items.len());
        // Bounds that fall belong to blocks out of order, which nobody put.
        bounds.is_sorted().then_some(())?;
        let blocks = self.0.par_iter().zip(bounds.par_windows(2));
        let aligned: Option<Vec<Aligned<T>>> =
            blocks.map(|(block, ends)| block.align(&items[ends[0]..ends[1]], &path, &one)).collect();
        let mut all = Aligned { kept: Vec::with_capacity(items.len()), gone: false };
        all.kept.resize_with(bounds[0], || None);
        for block in aligned? {
            all.kept.extend(block.kept);
            all.gone |= block.gone;
        }
        Some(all)
    }
    /// Goes through all paths in order, as far as they can be read.
    pub fn each(&self, mut each: impl FnMut(&str, &mut Decoder<'a>) -> Option<()>) -> Option<()> {
        let mut path = Vec::new();
        for block in &self.0 {
            let mut from = Decoder(block.bytes);
            path.clear();
            for _ in 0..block.count {
                next(&mut from, &mut path)?;
                each(std::str::from_utf8(&path).ok()?, &mut from)?;
            }
        }
        Some(())
    }
}

impl<'a> Block<'a> {
    fn align<I, T>(
        &self,
        items: &[I],
        path_of: impl Fn(&I) -> &str,
        one: impl Fn(&mut Decoder<'a>, Option<&I>) -> Option<Option<T>>,
    ) -> Option<Aligned<T>> {
        let mut aligned = Aligned { kept: Vec::with_capacity(items.len()), gone: false };
        let mut items = items.iter().peekable();
        let (mut from, mut path) = (Decoder(self.bytes), Vec::new());
        for _ in 0..self.count {
            next(&mut from, &mut path)?;
            while items.next_if(|now| path_of(now).as_bytes() < &path[..]).is_some() {
                aligned.kept.push(None);
            }
            let item = items.next_if(|now| path_of(now).as_bytes() == path);
            let kept = one(&mut from, item)?;
            match item {
                Some(_) => aligned.kept.push(kept),
                None => aligned.gone = true,
            }
        }
        aligned.kept.extend(items.map(|_| None));
        Some(aligned)
    }
}

/// The path after another one, which it takes the place of.
fn next(from: &mut Decoder<'_>, path: &mut Vec<u8>) -> Option<()> {
    let (shared, rest) = (from.count()?, from.bytes()?);
    (shared <= path.len()).then_some(())?;
    path.truncate(shared);
    path.extend_from_slice(rest);
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    fn written(paths: &BTreeSet<String>) -> Vec<u8> {
        let all: Vec<&String> = paths.iter().collect();
        let mut to = Encoder::default();
        put(&mut to, &all, |path| path, |to, path| to.text(path));
        to.0
    }

    fn check(old: &BTreeSet<String>, now: &BTreeSet<String>) -> Result<(), TestCaseError> {
        let bytes = written(old);
        let paths = Paths::take(&mut Decoder(&bytes)).expect("whole");
        prop_assert_eq!(paths.count(), old.len());
        let now_listed: Vec<&String> = now.iter().collect();
        let aligned =
            paths.align(&now_listed, |path| path, |from, _| from.text().map(|text| Some(text.to_owned()))).expect("whole");
        let expected: Vec<Option<String>> = now.iter().map(|path| old.get(path).cloned()).collect();
        prop_assert_eq!(aligned.kept, expected);
        prop_assert_eq!(aligned.gone, !old.is_subset(now));
        let mut all = Vec::new();
        paths.each(|path, from| (from.text()? == path).then(|| all.push(path.to_owned()))).expect("whole");
        prop_assert!(all.iter().eq(old));
        Ok(())
    }

    proptest! {
        #[test]
        fn paths_find_what_was_kept_of_them(old in prop::collection::btree_set("[ab/]{1,4}", 0..12), now in prop::collection::btree_set("[ab/]{1,4}", 0..12)) {
            check(&old, &now)?;
        }
        #[test]
        fn damaged_bytes_are_no_reason_to_panic(at in any::<prop::sample::Index>(), byte in any::<u8>()) {
            let old: BTreeSet<String> = (0..30).map(|n| format!("f/{n:03}.yaml")).collect();
            let mut bytes = written(&old);
            let at = at.index(bytes.len());
            bytes[at] = byte;
            let now: Vec<&String> = old.iter().collect();
            if let Some(paths) = Paths::take(&mut Decoder(&bytes)) {
                // Whatever comes out, it is one answer for each path, or none at all.
                let aligned = paths.align(&now, |path| path, |from, _| from.text().map(|text| Some(text.to_owned())));
                prop_assert!(aligned.is_none_or(|aligned| aligned.kept.len() == now.len()));
            }
        }
    }

    #[test]
    fn paths_of_many_blocks_find_theirs() {
        let path = |n: usize| format!("folder/{:06}.yaml", n.wrapping_mul(7_919) % 999_983);
        let old: BTreeSet<String> = (0..5 * BLOCK).map(path).collect();
        let fewer: BTreeSet<String> = old.iter().skip(BLOCK / 2).step_by(3).cloned().collect();
        let more: BTreeSet<String> = (0..7 * BLOCK).map(path).collect();
        for now in [&old, &fewer, &more, &BTreeSet::new()] {
            check(&old, now).expect("aligned");
        }
    }
}
