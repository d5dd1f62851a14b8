//! Who goes to whom: the assignment of the greatest sum, for every number of pairs.
//!
//! Successive augmenting paths: after k of them the k pairs are those of the greatest sum among all sets of k pairs, and
//! each path adds no more than the one before (the flow of least cost is convex), so a limit on pairs is kept by
//! stopping early. Worths are whole numbers, so that equal sums are equal in whatever order they are added.

/// The worth of a pair that must not be.
pub const BARRED: i64 = i64::MIN;

/// For each female (by column) the male (by row) she goes to, so that the sum of their worths is greatest; at most
/// `most` pairs, and no pair that adds nothing.
///
/// `worth[male][female]` is [`BARRED`] where a pair must not be; a male serves at most `serves[male]` females. Of equal
/// assignments always the same one is given.
#[must_use]
pub fn assign(worth: &[Vec<i64>], serves: &[u32], most: usize) -> Vec<Option<usize>> {
    let n_females = worth.iter().map(Vec::len).max().unwrap_or(0);
    let mut with: Vec<Option<usize>> = vec![None; n_females];
    let mut left: Vec<u32> = serves.to_vec();
    left.resize(worth.len(), 0);
    for _ in 0..most.min(n_females) {
        let Some(last) = augmented(worth, &left, &mut with) else { break };
        left[last] -= 1;
    }
    with
}

/// Adds one pair by the path that adds most; the male who serves one more, `None` where nothing can be added.
fn augmented(worth: &[Vec<i64>], left: &[u32], with: &mut [Option<usize>]) -> Option<usize> {
    let at = |male: usize, female: usize| worth[male].get(female).copied().filter(|w| *w != BARRED);
    // The most that a path from a single female to each female and to each male adds; nobody single is left out.
    let mut to_female: Vec<Option<i64>> = with.iter().map(|male| male.is_none().then_some(0)).collect();
    let mut to_male: Vec<Option<(i64, usize)>> = vec![None; worth.len()];
    loop {
        let mut changed = false;
        for female in 0..with.len() {
            let Some(so_far) = to_female[female] else { continue };
            for male in (0..worth.len()).filter(|male| with[female] != Some(*male)) {
                let Some(sum) = at(male, female).map(|worth| so_far + worth) else { continue };
                if to_male[male].is_none_or(|(known, _)| sum > known) {
                    to_male[male] = Some((sum, female));
                    changed = true;
                }
            }
        }
        for female in 0..with.len() {
            let Some((sum, _)) = with[female].and_then(|male| to_male[male]) else { continue };
            let Some(freed) = with[female].and_then(|male| at(male, female)).map(|worth| sum - worth) else { continue };
            if to_female[female].is_none_or(|known| freed > known) {
                to_female[female] = Some(freed);
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    let ends = to_male.iter().enumerate().filter(|(male, _)| left[*male] > 0);
    let ends = ends.filter_map(|(male, reached)| reached.map(|(sum, _)| (male, sum)));
    let (last, _) = ends
        .fold(None, |best: Option<(usize, i64)>, end| match best {
            Some(known) if known.1 >= end.1 => Some(known),
            _ => Some(end),
        })
        .filter(|(_, sum)| *sum > 0)?;
    // Back along the path: each male gives up one female for another.
    let mut male = last;
    while let Some((_, female)) = to_male[male] {
        match with[female].replace(male) {
            Some(before) => male = before,
            None => break,
        }
    }
    Some(last)
}
