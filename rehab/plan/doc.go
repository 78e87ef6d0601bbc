// Package plan chooses today's drills for one ankle: what is worth most in the minutes there are.
//
// # Model
//
// Every drill of today's stage whose kit is there is an option, at the level the ladder gives it. An
// option takes minutes and ground contacts and is worth points: more when its quality keeps the next
// gate shut, falls short of the comparator, or was not trained for days (the weights are data). Of several
// drills of one quality, in the order of their points, the second counts less and later ones little (the
// shares are data): a plan should not train one thing only. A plan is a set of options that
//
//   - fits the minutes,
//   - keeps the ground contacts of the day and of any seven days under the stage's caps, and has none at
//     all after a worse morning, on the day after contacts before full training, while a restriction forbids
//     jumping, and with a match still to be played that day or the next for whoever may play it,
//   - runs at most once, and not at all while a restriction forbids running,
//   - holds at least one drill that trains balance,
//
// and among those is worth most. Ties go to fewer contacts, then fewer minutes, then the drill that comes
// first by quality, points and key.
//
// When no set keeps all of it, two bounds are relaxed, in this order, and the plan says so: the balance
// drill; then the minutes, up to those of the shortest option. Contacts, kit, stage and level never are.
//
// # Exactness
//
// Options are sorted by quality and, within it, by points, so what an option counts depends only on how
// many of its quality were taken before it. Let B(i, k, m, c, r, o) be the most that options i, i+1, … can
// add when k of option i's quality were taken (capped where the share no longer falls), m minutes and c
// contacts are left, r says whether running was taken and o whether balance is owed. Then
//
//	B(i, …) = max( B(i+1, k', m, c, r, o),  worth(i, k) + B(i+1, (k+1)', m−mᵢ, c−cᵢ, r∨rᵢ, o∧¬bᵢ) )
//
// where the second is allowed only if it keeps the bounds, ' sets k to 0 when the quality changes, and
// B(n, …) is 0 when nothing is owed and impossible otherwise. Every set of options is one path of takes and
// skips, its worth is the sum along the path, and the state holds all that the rest of the path depends on;
// so by induction from n down B is the optimum, and walking the maxima from B(0, 0, M, C, no, owed) gives a
// set that reaches it. Points are integers and ties are part of the sum or settled by the order, so the
// same inputs give the same plan. Minutes are whole and contacts multiples of their common divisor, which
// bounds the table: drills × shares × minutes × contacts × 4. States that no choice comes to are left out.
package plan
