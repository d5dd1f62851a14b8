//! Every kind of reply as a member reads it: kept word for word, so that a change is read aloud before it lands.
//!
//! Odds without a source beside them are common practice, no source; chances in clutches are computed.

use hatchward::conversation::odds::answer;
use hatchward::engine::odds::odds;
use hatchward::reading::requests::{Animal, Aspect, Carried, Intent, Pairing, Reading, SexSaid, Side, Target};
use hatchward::reply::{LONG, Reply, SHORT};
use hatchward::species::{Catalogue, GeneId, SpeciesId};
use proptest::prelude::*;

use crate::member::Chat;

/// The last reply of a talk.
fn last(messages: &[&str]) -> String {
    Chat::new().says(messages).pop().unwrap_or_default()
}

#[test]
fn a_table_per_egg() {
    insta::assert_snapshot!(last(&["1.0 pastel het clown x 0.1 clown"]), @r#"
    Ball python: ♂ Pastel, het Clown × ♀ Clown
      1/4  25 %  normal-looking, het Clown
      1/4  25 %  Clown
      1/4  25 %  Pastel, het Clown
      1/4  25 %  Pastel, Clown
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    "#);
}

#[test]
fn a_table_for_a_clutch() {
    insta::assert_snapshot!(last(&["1.0 pastel het clown x 0.1 clown, 7 eggs?"]), @r#"
    Ball python: ♂ Pastel, het Clown × ♀ Clown, 7 eggs
      1/4  25 %  normal-looking, het Clown (86.7 % in 7)
      1/4  25 %  Clown (86.7 % in 7)
      1/4  25 %  Pastel, het Clown (86.7 % in 7)
      1/4  25 %  Pastel, Clown (86.7 % in 7)
    In brackets: the chance of at least one of the kind, each egg taken as one young.
    "#);
}

#[test]
fn a_table_for_several_clutches() {
    insta::assert_snapshot!(last(&["het clown x het clown in 2 clutches"]), @r#"
    Ball python: het Clown × het Clown, 2 usual clutches
      3/4  75 %  normal-looking, 66 % het Clown (over 99.9 % in 2 clutches)
      1/4  25 %  Clown (93.2 % in 2 clutches)
    In brackets: the chance of at least one of the kind. A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

#[test]
fn a_table_without_the_normals() {
    insta::assert_snapshot!(last(&["dh clown pied x dh clown pied without the normals"]), @r#"
    Ball python: het Clown, het Piebald × het Clown, het Piebald
      3/16  18.75 %  Piebald, 66 % het Clown
      3/16  18.75 %  Clown, 66 % het Piebald
      1/16   6.25 %  Clown, Piebald
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    Left out: normal-looking young, 9/16 (56.25 %).
    "#);
}

#[test]
fn rarer_kinds_are_counted() {
    insta::assert_snapshot!(last(&["dh clown pied pastel enchi x dh clown pied pastel enchi"]), @r#"
    Ball python: Enchi, Pastel, het Clown, het Piebald × Enchi, Pastel, het Clown, het Piebald
       9/64  14.1 %  Enchi, Pastel, 66 % het Clown, 66 % het Piebald
      9/128  7.03 %  Enchi, 66 % het Clown, 66 % het Piebald
      9/128  7.03 %  Pastel, 66 % het Clown, 66 % het Piebald
      9/128  7.03 %  Super Enchi, Pastel, 66 % het Clown, 66 % het Piebald
      9/128  7.03 %  Super Pastel, Enchi, 66 % het Clown, 66 % het Piebald
       3/64  4.69 %  Enchi, Pastel, Piebald, 66 % het Clown
       3/64  4.69 %  Enchi, Pastel, Clown, 66 % het Piebald
      9/256  3.52 %  normal-looking, 66 % het Clown, 66 % het Piebald
      and 28 rarer kinds, together 115/256
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    "#);
}

#[test]
fn what_all_young_share_is_said_once() {
    insta::assert_snapshot!(last(&["pied clown albino pastel x spotnose het pastel"]), @r#"
    Caution: Spotnose: mild wobble reported in some animals (keepers report, nothing published).
    Ball python: Pastel, Albino, Clown, Piebald × Pastel, Spotnose
      Every young: het Albino, het Clown, het Piebald. Beside that:
      1/4    25 %  Pastel
      1/4    25 %  Pastel, Spotnose
      1/8  12.5 %  normal-looking
      1/8  12.5 %  Spotnose
      1/8  12.5 %  Super Pastel
      1/8  12.5 %  Super Pastel, Spotnose
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    Check your local law, and ask a reptile vet about any animal that worries you.
    I took it that "het Pastel" is one copy, which shows: visible genes are not called het.
    "#);
}

#[test]
fn a_wish_without_eggs() {
    insta::assert_snapshot!(last(&["odds on a clown pied from dh clown pied x clown het pied"]), @r#"
    Ball python: het Clown, het Piebald × Clown, het Piebald
    Clown, Piebald: 1/8 per egg (12.5 %)
    At least one in a usual clutch: 47.5 %.
    Eggs to see at least one: 6 for 50 %, 18 for 90 %, 23 for 95 %, 35 for 99 %.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

#[test]
fn a_wish_in_a_clutch() {
    insta::assert_snapshot!(last(&["odds on a clown from het clown x het clown, 6 eggs"]), @r#"
    Ball python: het Clown × het Clown, 6 eggs
    Clown: 1/4 per egg (25 %)
    At least one in 6 eggs: 82.2 % (3367/4096); none: 17.8 %; on average 1.5.
    "#);
}

#[test]
fn a_wish_in_clutches() {
    insta::assert_snapshot!(last(&["odds of at least one clown in 2 clutches of 6 from het clown x het clown"]), @r#"
    Ball python: het Clown × het Clown, 2 clutches of 6 eggs
    Clown: 1/4 per egg (25 %)
    At least one in 6 eggs: 82.2 %. In 2 such clutches: 96.8 %; none: 3.17 %; on average 3.
    "#);
}

#[test]
fn a_wish_for_one_sex() {
    insta::assert_snapshot!(last(&["odds on a male clown from het clown x clown, 6 eggs"]), @r#"
    Ball python: het Clown × Clown, 6 eggs
    ♂ Clown: 1/4 per egg (25 %)
    At least one in 6 eggs: 82.2 % (3367/4096); none: 17.8 %; on average 1.5.
    "#);
}

#[test]
fn a_wish_for_a_normal() {
    insta::assert_snapshot!(last(&["champagne x champagne, odds on a normal"]), @r#"
    Caution: two copies of Champagne: loss of the young is reported. Two-copy animals are reported to die in the egg or soon after hatching; keepers agree, nothing is published.
    Caution: Champagne: mild wobble in some animals (keepers report, nothing published).
    Ball python: Champagne × Champagne
    a normal: 1/4 per egg (25 %)
    1/4 of the eggs are lost before hatching (keepers report); among the living it is 1/3 (33.3 %).
    At least one in a usual clutch: 73.9 %.
    Eggs to see at least one: 3 for 50 %, 9 for 90 %, 11 for 95 %, 17 for 99 %.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn how_many_eggs() {
    insta::assert_snapshot!(last(&["how many eggs for 90% sure of a clown from het clown x het clown"]), @r#"
    Ball python: het Clown × het Clown
    Clown: 1/4 per egg (25 %)
    At least one in a usual clutch: 73.9 %.
    Eggs to see at least one: 9 for 90 %.
    Usual clutches: 2 for 90 %.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

#[test]
fn possible() {
    insta::assert_snapshot!(last(&["is a clown possible from het clown x clown?"]), @r#"
    Ball python: het Clown × Clown
    Yes. Clown: 1/2 per egg (50 %)
    At least one in a usual clutch: 94.8 %.
    Eggs to see at least one: 1 for 50 %, 4 for 90 %, 5 for 95 %, 7 for 99 %.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

#[test]
fn not_possible_names_who_lacks_what() {
    insta::assert_snapshot!(last(&["can 1.0 pastel x 0.1 clown make a clown pied?"]), @r#"
    Ball python: ♂ Pastel × ♀ Clown
    Clown, Piebald: not possible from this pairing.
    Clown takes a copy from each parent, and the male (Pastel) carries none: the young can be het Clown at most.
    Neither parent carries Piebald.
    "#);
}

#[test]
fn why_none_by_chance() {
    insta::assert_snapshot!(last(&["why no clowns from het clown x het clown in 6 eggs"]), @r#"
    Ball python: het Clown × het Clown, 6 eggs
    Clown: 1/4 per egg (25 %)
    It is possible. None in 6 eggs happens in 17.8 % of such cases, by chance alone.
    "#);
}

#[test]
fn why_none_of_a_possible_het() {
    insta::assert_snapshot!(last(&["why no clowns from 66% het clown girl x clown in 6 eggs"]), @r#"
    Ball python: ♀ 66 % het Clown × ♂ Clown, 6 eggs
    Clown: 1/3 per egg (33.3 %)
    It hangs on the female being 66 % het Clown: without the gene none can come.
    It is possible. None in 6 eggs happens in 34.4 % of such cases, by chance alone.
    After that the chance that this pair can make it at all is 3.03 %; it was 66.7 %.
    "#);
}

#[test]
fn why_none_at_all() {
    insta::assert_snapshot!(last(&["why no pieds from het pied x normal, 6 eggs"]), @r#"
    Ball python: het Piebald × normal-looking, 6 eggs
    Piebald: not possible from this pairing.
    Piebald takes a copy from each parent, and the second-named (normal-looking) carries none: the young can be het Piebald at most.
    "#);
}

#[test]
fn the_best() {
    insta::assert_snapshot!(last(&["what's the best I can hit from pastel het clown x pastel clown, 6 eggs?"]), @r#"
    Ball python: Pastel, het Clown × Pastel, Clown, 6 eggs
    The most in one young: Super Pastel, Clown: 1/8 per egg (12.5 %).
    At least one in 6 eggs: 55.1 %; none: 44.9 %; on average 0.75.
    "#);
}

#[test]
fn the_best_is_never_a_harmful_double() {
    insta::assert_snapshot!(last(&["what's the best I can hit from cinnamon spider x cinnamon spider?"]), @r#"
    Caution: Spider: wobble: head tremor, corkscrewing, poor righting reflex and aim; variable, present in every spider to some degree (published).
    Caution: two copies of Spider: loss of the young is suspected. No two-copy animal has been confirmed alive, and keepers disagree whether one ever was; nothing is published.
    Caution: Spider: welfare assessment by expert survey judged the wobble a welfare concern (published).
    Caution: also bones (Cinnamon).
    Ball python: Cinnamon, Spider × Cinnamon, Spider
    The most in one young: Cinnamon, Spider (33 % two copies): 3/8 per egg (37.5 %).
    At least one in a usual clutch: 87.8 %.
    1/4 of the eggs get two copies of Spider, counted here as living; if they die, as suspected, the living are: 2/3 Spider, 1/3 normal-looking.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

#[test]
fn two_pairings_by_what_differs() {
    insta::assert_snapshot!(last(&["clown x het clown vs het x het, which is better odds"]), @r#"
    Ball python, first: Clown × het Clown
    Second: het Clown × het Clown
    What differs per egg, first against second:
      Clown: 1/2 (50 %) against 1/4 (25 %)
      normal-looking: 1/2 (50 %), het Clown against 3/4 (75 %), 66 % het Clown
    Name what you hope for ("which is better for a clown?") and I say which pairing is better.
    "#);
}

#[test]
fn a_square_of_one_gene() {
    insta::assert_snapshot!(last(&["square it: 1.0 het clown x 0.1 het clown"]), @r#"
    Ball python: ♂ het Clown × ♀ het Clown
    Down the side what the male hands on, across the top what the female hands on:
             c 1/2  + 1/2
      c 1/2  cc     c+
      + 1/2  c+     ++
      3/4  75 %  normal-looking, 66 % het Clown
      1/4  25 %  Clown
    c = Clown, + = without it.
    "#);
}

#[test]
fn a_square_of_two_genes() {
    insta::assert_snapshot!(last(&["square it: dh clown pied x dh clown pied"]), @r#"
    Ball python: het Clown, het Piebald × het Clown, het Piebald
    Down the side what the first hands on, across the top what the second hands on:
               p c 1/4  p + 1/4  + c 1/4  + + 1/4
      p c 1/4  pp cc    pp c+    p+ cc    p+ c+
      p + 1/4  pp c+    pp ++    p+ c+    p+ ++
      + c 1/4  p+ cc    p+ c+    ++ cc    ++ c+
      + + 1/4  p+ c+    p+ ++    ++ c+    ++ ++
      9/16  56.25 %  normal-looking, 66 % het Clown, 66 % het Piebald
      3/16  18.75 %  Piebald, 66 % het Clown
      3/16  18.75 %  Clown, 66 % het Piebald
      1/16   6.25 %  Clown, Piebald
    p = Piebald, c = Clown, + = without it.
    "#);
}

#[test]
fn factors_of_three_genes() {
    insta::assert_snapshot!(last(&["square it: pastel dh clown pied x dh clown pied"]), @r#"
    Ball python: Pastel, het Clown, het Piebald × het Clown, het Piebald
    3 genes would not fit a square; gene by gene it is this, and one from each line is multiplied:
      Piebald: 1/4 Piebald, 1/2 het Piebald, 1/4 without
      Clown: 1/4 Clown, 1/2 het Clown, 1/4 without
      Pastel: 1/2 Pastel, 1/2 without
    "#);
}

#[test]
fn is_it_safe_with_cautions() {
    insta::assert_snapshot!(last(&["is it safe to breed spider x spider?"]), @r#"
    Caution: Spider: wobble: head tremor, corkscrewing, poor righting reflex and aim; variable, present in every spider to some degree (published).
    Caution: two copies of Spider: loss of the young is suspected. No two-copy animal has been confirmed alive, and keepers disagree whether one ever was; nothing is published.
    Caution: Spider: welfare assessment by expert survey judged the wobble a welfare concern (published).
    Ball python: Spider × Spider
    3 cautions: 2 published, 1 from keepers.
    Spider: 3/4 (75 %) of the eggs get it, 1/4 (25 %) with a second such copy.
    1/4 of the eggs get two copies of Spider, counted here as living; if they die, as suspected, the living are: 2/3 Spider, 1/3 normal-looking.
    Published: Starck JM et al. 2022; Rose MP, Williams DL 2014.
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn is_it_safe_without_cautions() {
    insta::assert_snapshot!(last(&["safe to breed pastel x clown?"]), @r#"
    Ball python: Pastel × Clown
    Nothing is known to me against this pairing; that is no proof that it is safe.
    Health, weight, age and kinship of the two animals count as well: a reptile vet can judge those.
    "#);
}

#[test]
fn het_labels() {
    insta::assert_snapshot!(last(&["what would the het percents be from het clown pied x het clown pied"]), @r#"
    Ball python: het Clown, het Piebald × het Clown, het Piebald
    normal-looking, 9/16 (56.25 %): 66 % het Clown, 66 % het Piebald.
      All of these in one animal: 4/9 (44.4 %); none of them: 1/9 (11.1 %).
    Piebald, 3/16 (18.75 %): 66 % het Clown.
    Clown, 3/16 (18.75 %): 66 % het Piebald.
    I took it that het goes for each of Clown, Piebald (say "visual Piebald" if one of them shows).
    "#);
}

#[test]
fn a_lethal_among_the_living() {
    insta::assert_snapshot!(last(&["champagne x champagne, 6 eggs"]), @r#"
    Caution: two copies of Champagne: loss of the young is reported. Two-copy animals are reported to die in the egg or soon after hatching; keepers agree, nothing is published.
    Caution: Champagne: mild wobble in some animals (keepers report, nothing published).
    Ball python: Champagne × Champagne, 6 eggs
      1/2  50 %  Champagne (98.4 % in 6)
      1/4  25 %  normal-looking (82.2 % in 6)
    1/4 of the eggs are lost before hatching (keepers report). Of the living: 2/3 Champagne, 1/3 normal-looking.
    In brackets: the chance of at least one of the kind, each egg taken as one young.
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn a_suspected_lethal_both_ways() {
    insta::assert_snapshot!(last(&["spider x spider"]), @r#"
    Caution: Spider: wobble: head tremor, corkscrewing, poor righting reflex and aim; variable, present in every spider to some degree (published).
    Caution: two copies of Spider: loss of the young is suspected. No two-copy animal has been confirmed alive, and keepers disagree whether one ever was; nothing is published.
    Caution: Spider: welfare assessment by expert survey judged the wobble a welfare concern (published).
    Ball python: Spider × Spider
      3/4  75 %  Spider (33 % two copies)
      1/4  25 %  normal-looking
    1/4 of the eggs get two copies of Spider, counted here as living; if they die, as suspected, the living are: 2/3 Spider, 1/3 normal-looking.
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn young_that_do_not_live_long() {
    insta::assert_snapshot!(last(&["hgw x hgw"]), @r#"
    Caution: two copies of Hidden Gene Woma: loss of the young is reported. Pearl hatchlings are reported not to survive; nothing is published.
    Caution: Hidden Gene Woma: wobble, often stronger than in spider (keepers report, nothing published).
    Ball python: Hidden Gene Woma × Hidden Gene Woma
      1/2  50 %  Hidden Gene Woma
      1/4  25 %  normal-looking
      1/4  25 %  Pearl
    1/4 of the eggs get two copies of Hidden Gene Woma; they are reported not to live long. Of the others: 2/3 Hidden Gene Woma, 1/3 normal-looking.
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn a_wish_if_the_suspicion_is_true() {
    insta::assert_snapshot!(last(&["odds on a motley from motley boa x motley boa"]), @r#"
    Caution: two copies of Motley: loss of the young is suspected. Two-copy babies are often reported weak or dying young; some survive.
    Boa: Motley × Motley
    Motley: 3/4 per baby (75 %)
    If two-copy young die, as suspected, 1/4 of the babies are lost and Motley is 2/3 (66.7 %) of the living.
    At least one in a usual litter: over 99.9 %.
    Babies to see at least one: 1 for 50 %, 2 for 90 %, 3 for 95 %, 4 for 99 %.
    A usual litter is taken as 10 to 45 babies, mostly 20, 90 in 100 giving young (common practice).
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn lines_that_do_not_match() {
    insta::assert_snapshot!(last(&["vpi axanthic x tsk axanthic"]), @r#"
    Ball python: Axanthic (VPI) × Axanthic (TSK)
      all  100 %  normal-looking, het Axanthic (TSK), het Axanthic (VPI)
    Axanthic (VPI) and Axanthic (TSK) are different genes that look alike: the young show neither and carry one copy of each (double het).
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    "#);
}

#[test]
fn lines_that_are_not_settled() {
    insta::assert_snapshot!(last(&["tsk axanthic x jolliff axanthic"]), @r#"
    Ball python: Axanthic (TSK) × Axanthic (Jolliff)
      all  100 %  normal-looking, het Axanthic (Jolliff), het Axanthic (TSK)
    Whether Axanthic (TSK) and Axanthic (Jolliff) match is not settled; I count them as two genes.
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    "#);
}

#[test]
fn a_banana_male_both_ways() {
    insta::assert_snapshot!(last(&["banana male x normal female"]), @r#"
    Ball python: ♂ Banana × ♀ normal-looking
      If his copy came from his mother:
      19/40  47.5 %  ♀ Banana
      19/40  47.5 %  ♂ normal-looking
       1/40   2.5 %  ♀ normal-looking
       1/40   2.5 %  ♂ Banana
      If his copy came from his father:
      19/40  47.5 %  ♀ normal-looking
      19/40  47.5 %  ♂ Banana
       1/40   2.5 %  ♀ Banana
       1/40   2.5 %  ♂ normal-looking
    Banana is sex-linked: crossovers are taken at 5 in 100, a keepers' figure, not a published one.
    Odds are per egg; small clutches swing. Say "in 7 eggs" for a clutch.
    "#);
}

#[test]
fn litters() {
    insta::assert_snapshot!(last(&["albino (kahl) boa x het albino (kahl), 20 babies"]), @r#"
    Caution: Albino (Kahl) (two copies): one-eyed or small-eyed babies reported in tightly inbred lines (keepers report, nothing published).
    Boa: Albino (Kahl) × het Albino (Kahl), 20 babies
      1/2  50 %  normal-looking, het Albino (Kahl) (over 99.9 % in 20)
      1/2  50 %  Albino (Kahl) (over 99.9 % in 20)
    In brackets: the chance of at least one of the kind, each baby taken as one young.
    Check your local law, and ask a reptile vet about any animal that worries you.
    "#);
}

#[test]
fn explained_from_a_table() {
    insta::assert_snapshot!(last(&["cinnamon het clown pied x cinnamon dh clown pied, 6 eggs", "how did you get 3/64?"]), @r#"
    Ball python: Cinnamon, het Clown, het Piebald × Cinnamon, het Clown, het Piebald, 6 eggs
    Each parent hands on one of its two copies of a gene, either with chance 1/2.
      no Cinnamon: 1/2 × 1/2 = 1/4
      Piebald: 1/2 × 1/2 = 1/4
      no visual Clown (66 % het Clown): 1/2 × 1/2 + 1/2 × 1/2 + 1/2 × 1/2 = 3/4
    Genes are independent, so multiplied: 1/4 × 1/4 × 3/4 = 3/64 (4.69 %) Piebald, 66 % het Clown.
    At least one in 6 eggs: 1 − (1 − 3/64)^6 = 25 %.
    "#);
}

#[test]
fn explained_from_a_wish() {
    insta::assert_snapshot!(last(&["odds on a clown from 66% het clown x clown, 6 eggs", "how did you get that"]), @r#"
    Ball python: 66 % het Clown × Clown, 6 eggs
    Each parent hands on one of its two copies of a gene, either with chance 1/2.
      Clown: 1/3 × 1 = 1/3
    So Clown: 1/3 (33.3 %).
    At least one in 6 eggs: 2/3 × (1 − (1 − 1/2)^6) = 65.6 %, mixed over what the parents may be.
    "#);
}

#[test]
fn a_question_back() {
    insta::assert_snapshot!(last(&["axanthic pied x normal"]), @r#"
    Which line is "axanthic"? Different lines do not match, so it changes the odds.
      1. Axanthic (VPI)
      2. Axanthic (TSK)
      3. Axanthic (Jolliff)
      4. Axanthic (MJ)
      5. Axanthic (GCR)
      6. Black Axanthic
    "#);
}

#[test]
fn an_unknown_word() {
    insta::assert_snapshot!(last(&["flurbl clown x clown"]), @r#"
    I do not know "flurbl". Which gene is it?
    Words I did not understand: flurbl.
    "#);
}

#[test]
fn one_parent_only() {
    insta::assert_snapshot!(last(&["odds on a clown from my clown"]), @r#"Who is the other parent? I read only one side of the pairing ("clown")."#);
}

#[test]
fn too_many_eggs() {
    insta::assert_snapshot!(last(&["clown x het clown, 400 eggs"]), @r#"That is more than one question can hold: 400 eggs in one clutch (at most 60)."#);
}

#[test]
fn illness() {
    insta::assert_snapshot!(last(&["she is wheezing, what should I do?"]), @r#"I cannot judge an animal's health: please ask a reptile vet, soon if it worries you."#);
}

#[test]
fn a_dose() {
    insta::assert_snapshot!(last(&["how much baytril for my female?"]), @r#"I give no doses: a reptile vet who sees the animal can."#);
}

#[test]
fn a_price() {
    insta::assert_snapshot!(last(&["how much is a clown worth?"]), @r#"I do not give market prices; breeders around you can. I can give the odds of a pairing."#);
}

#[test]
fn a_photo() {
    insta::assert_snapshot!(last(&["what morph is this?"]), @r#"I cannot tell genes from a photo; the breeder's records or a test breeding can."#);
}

#[test]
fn the_law() {
    insta::assert_snapshot!(last(&["is it legal to keep pythons in ohio?"]), @r#"I cannot say what is legal where you live: please ask your local authority."#);
}

#[test]
fn help() {
    insta::assert_snapshot!(last(&["help"]), @r#"
    Ask for odds the way you would in chat:
      1.0 pastel het clown x 0.1 clown, 7 eggs?
      odds on a clown pied from het clown pied x dh clown pied
      66% het pied girl to my pied, at least one pied in 6 eggs
    Then go on: "and with 9 eggs?", "swap them", "the first one again".
    Or ask what something means: "what does 66 het mean", "is spider bad", "explain dh".
    "#);
}

#[test]
fn not_understood() {
    insta::assert_snapshot!(last(&["what is the weather for a clown?"]), @r#"
    Clown (Ball python)
    Recessive: it shows with two copies. One copy is carried unseen (het).
    It shares one place on the chromosome with Cryptic (Clown and cryptic). An animal has room for two of them in all.
    With another of the group: Crypton.
    In named combinations: Killer Clown.
    Two hets of it:
    Ball python: het Clown × het Clown
      3/4  75 %  normal-looking, 66 % het Clown
      1/4  25 %  Clown
    Published gene: MC1R. How this is known: published: Garcia-Elfring A et al. 2025, Pigment Cell and Melanoma Research 38: e13215.
    No harm is on record here. That does not mean there is none.
    Words I did not understand: weather.
    "#);
}

#[test]
fn a_side_that_does_not_matter() {
    insta::assert_snapshot!(last(&["odds on a clown from het clown banana boy x het clown"]), @r#"
    Ball python: ♂ Banana, het Clown × ♀ het Clown
    Clown: 1/4 per egg (25 %)
    At least one in a usual clutch: 73.9 %.
    Eggs to see at least one: 3 for 50 %, 9 for 90 %, 11 for 95 %, 17 for 99 %.
    Banana is sex-linked: crossovers are taken at 5 in 100, a keepers' figure, not a published one.
    A usual clutch is taken as 3 to 11 eggs, mostly 6, 83 in 100 giving young (common practice).
    "#);
}

// What no message says yet, or what is worse than anybody writes: readings made by hand.

fn species(name: &str) -> (&'static Catalogue, SpeciesId) {
    let catalogue = &Chat::new().catalogue;
    (catalogue, catalogue.by_name(name).expect("a species of the catalogue"))
}

fn pairing_of(genes: [&[(&str, u8)]; 2], aspect: Aspect) -> Reading {
    let (catalogue, id) = species("ball python");
    let mut reading = Reading::of(Intent::Odds, Some(id));
    reading.pairing.aspect = aspect;
    for genes in genes {
        let carried = genes.iter().map(|(gene, copies)| Carried {
            gene: catalogue.get(id).gene_by_id(gene).expect("a gene of the catalogue"),
            copies: *copies,
            chance: odds(1, 1),
        });
        reading.pairing.parents.push(Animal { genes: carried.collect(), ..Animal::default() });
    }
    reading
}

fn said(reading: &Reading) -> String {
    let (catalogue, id) = species("ball python");
    answer(catalogue.get(id), reading, &Reply::default()).text()
}

#[test]
fn at_least_one_of_each_sex() {
    let mut reading = pairing_of([&[("clown", 2)], &[("clown", 1)]], Aspect::Table);
    let clown = reading.pairing.parents[0].genes[0].gene;
    reading.pairing.both_sexes = true;
    reading.pairing.clutch_size = Some(13);
    reading.pairing.target = Some(Target { genes: vec![(clown, 2)], ..Target::default() });
    // Computed, 1 - 2(3/4)^13 + (1/2)^13: 13 are the fewest eggs for 95 % with a chance of one half.
    insta::assert_snapshot!(said(&reading), @r"
    Ball python: Clown × het Clown, 13 eggs
    Clown: 1/2 per egg (50 %)
    At least one male and one female in 13 eggs: 95.3 %.
    ");
    reading.pairing.target = None;
    reading.pairing.clutch_size = Some(6);
    // Computed, 1 - 2(1/2)^6: any young, and 1 - 2(3/4)^6 + (1/2)^6 for each kind.
    insta::assert_snapshot!(said(&reading), @r"
    Ball python: Clown × het Clown, 6 eggs
    At least one male and one female of any kind: 96.9 %.
      1/2  50 %  normal-looking, het Clown (66 % in 6)
      1/2  50 %  Clown (66 % in 6)
    In brackets: the chance of at least one male and one female of the kind, each egg taken as one young.
    ");
}

#[test]
fn two_pairings_by_a_wish() {
    let mut reading = pairing_of([&[("clown", 2), ("piebald", 1)], &[("clown", 1), ("piebald", 1)]], Aspect::Best);
    let genes: Vec<GeneId> = reading.pairing.parents[0].genes.iter().map(|c| c.gene).collect();
    reading.pairing.target = Some(Target { genes: genes.iter().map(|g| (*g, 2)).collect(), ..Target::default() });
    reading.pairing.clutch_size = Some(6);
    let second = pairing_of([&[("clown", 1), ("piebald", 1)], &[("clown", 1), ("piebald", 1)]], Aspect::Table);
    reading.compare = Some(second.pairing);
    // 1/8 and 1/16: common practice, no source; 55.1 % and 32.1 % in six: computed.
    insta::assert_snapshot!(said(&reading), @r"
    Ball python, first: Clown, het Piebald × het Clown, het Piebald, 6 eggs
    Second: het Clown, het Piebald × het Clown, het Piebald, 6 eggs
    Clown, Piebald per egg: 1/8 (12.5 %) from the first, 1/16 (6.25 %) from the second.
    At least one in 6 eggs: 55.1 % and 32.1 %.
    The first is better for it: twice the chance.
    ");
}

#[test]
fn no_young_shows_what_neither_parent_can_hand_on_together() {
    let mut reading = pairing_of([&[("mojave", 1)], &[]], Aspect::Possible);
    let (catalogue, id) = species("ball python");
    let gene = |name| catalogue.get(id).gene_by_id(name).expect("a gene of the catalogue");
    reading.pairing.target =
        Some(Target { genes: vec![(gene("lesser"), 1), (gene("mojave"), 1)], ..Target::default() });
    insta::assert_snapshot!(said(&reading), @r"
    Ball python: Mojave × normal-looking
    No: Lesser, Mojave is not possible from this pairing.
    Neither parent carries Lesser.
    Mojave and Lesser sit at one locus: a young with both takes one from each parent.
    ");
}

fn any_animal(n_genes: u16) -> impl Strategy<Value = Animal> {
    let gene = (0..n_genes, 1_u8..=2, 0_usize..4);
    let sex = prop_oneof![Just(SexSaid::Male), Just(SexSaid::Female), Just(SexSaid::Unknown)];
    let side = prop_oneof![Just(None), Just(Some(Side::X)), Just(Some(Side::Y))];
    (proptest::collection::vec(gene, 0..60), sex, side).prop_map(|(genes, sex, side)| {
        let chances = [odds(1, 1), odds(2, 3), odds(1, 2), odds(3, 7)];
        let genes = genes
            .into_iter()
            .map(|(g, copies, chance)| Carried { gene: GeneId(g), copies, chance: chances[chance].clone() })
            .collect();
        Animal { sex, genes, side, weight_g: Some(900), ..Animal::default() }
    })
}

fn any_pairing(n_genes: u16) -> impl Strategy<Value = Pairing> {
    let target = (proptest::collection::vec((0..n_genes, 1_u8..=2), 0..20), any::<bool>()).prop_map(|(genes, het)| {
        let genes: Vec<(GeneId, u8)> = genes.into_iter().map(|(g, n)| (GeneId(g), n)).collect();
        let hets = genes.iter().filter(|g| het && g.1 == 1).map(|g| g.0).collect();
        Target { genes, sex: SexSaid::Unknown, hets }
    });
    let aspects = [
        Aspect::Table,
        Aspect::Possible,
        Aspect::WhyNone,
        Aspect::HowMany,
        Aspect::Best,
        Aspect::Square,
        Aspect::Safe,
        Aspect::Hets,
    ];
    let parents = prop_oneof![
        9 => proptest::collection::vec(any_animal(n_genes), 2),
        1 => proptest::collection::vec(any_animal(n_genes), 0..13),
    ];
    (
        parents,
        proptest::option::of(target),
        0..aspects.len(),
        proptest::option::of(1_u32..=60),
        proptest::option::of(1_u32..=20),
        any::<[bool; 3]>(),
    )
        .prop_map(move |(parents, target, aspect, eggs, clutches, [all, normals, both])| {
            let mut pairing =
                Pairing { parents, target, aspect: aspects[aspect], both_sexes: both, ..Pairing::default() };
            pairing.clutch_size = eggs;
            pairing.clutches = clutches;
            pairing.shown.all = all;
            pairing.shown.without_normals = normals;
            pairing
        })
}

/// The ball python with names of forty letters for its genes.
fn with_long_names() -> Catalogue {
    let (name, text) = hatchward::species::BUILTIN[0];
    let mut lengthened = String::new();
    let mut in_gene = false;
    for line in text.lines() {
        in_gene = line == "[[gene]]" || in_gene && !line.starts_with("[[");
        // These names stand in rules of their own about plurals and listed slips.
        let bound = ["Scaleless", "Cypress", "Red Axanthic"].iter().any(|name| line.contains(name));
        match line.strip_prefix("name = \"").filter(|_| in_gene && !bound) {
            Some(rest) => lengthened.push_str(&["name = \"Extraordinarily Long Winded Name Of A ", rest].concat()),
            None => lengthened.push_str(line),
        }
        lengthened.push('\n');
    }
    Catalogue::from_files(&[(name.to_owned(), lengthened)]).unwrap_or_else(|e| panic!("{e}"))
}

/// Numbers of a text that its shortened form may not change: all words with a digit.
fn figures(text: &str) -> Vec<&str> {
    text.split_whitespace().filter(|w| w.contains(|c: char| c.is_ascii_digit())).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: crate::cases(24), ..ProptestConfig::default() })]

    #[test]
    fn the_worst_pairings_fit_a_phone(first in any_pairing(132), second in proptest::option::of(any_pairing(132)), words in proptest::collection::vec("\\PC{0,60}", 0..30)) {
        static LONG_NAMES: std::sync::OnceLock<Catalogue> = std::sync::OnceLock::new();
        let catalogue = LONG_NAMES.get_or_init(with_long_names);
        let species = &catalogue.species()[0];
        let mut reading = Reading::of(Intent::Odds, Some(species.id));
        let most = if first.shown.all { LONG } else { SHORT };
        reading.pairing = first;
        reading.compare = second;
        let besides = Reply { assumed: words.clone(), unread: words, ..Reply::default() };
        let reply = answer(species, &reading, &besides);
        let text = reply.text();
        prop_assert!(text.chars().count() <= most, "{} characters:\n{text}", text.chars().count());
        prop_assert!(!reply.answer.is_empty() || !reply.rows.is_empty());
        prop_assert!(!text.contains("```") && !text.contains('@'), "{text}");
    }

    #[test]
    fn what_is_left_out_cuts_no_number(
        lines in proptest::collection::vec("([A-Z][a-z]{2,9} |[0-9]{1,4}/[0-9]{1,6} |[0-9]{1,2}\\.[0-9] %, ){1,30}", 1..12),
        most in 600_usize..1_600,
    ) {
        let reply = Reply {
            cautions: lines.iter().take(2).cloned().collect(),
            understood: lines.concat(),
            answer: lines.clone(),
            notes: lines.clone(),
            assumed: lines.clone(),
            ..Reply::default()
        };
        let whole = reply.text();
        let fitted = reply.fitted(most);
        prop_assert!(fitted.length() <= most);
        let known = figures(&whole);
        for figure in figures(&fitted.text()) {
            let counted = fitted.text().contains(&format!("{figure} more"));
            let bare = figure.trim_end_matches([';', '.']);
            prop_assert!(counted || known.iter().any(|k| k.trim_end_matches([';', '.', ',']) == bare), "{figure} was not said");
        }
    }
}
