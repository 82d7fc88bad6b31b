// A tight forward-star baseline for the path searches of this package: the same
// algorithms, written for speed in C++ and compiled with -O3, so that a ratio of
// times compares like with like. It has two advantages over the package: the graph
// and one set of weights are interleaved before the clock starts, and no input is
// checked.
//
//   baseline FILE ROUNDS
//
// FILE holds, little-endian: int32 vertices, arcs, pairs; int32 first[vertices+1],
// head[arcs], twin[arcs]; float32 time[arcs], cost[arcs]; and for each pair int32
// from, to and float64 limit. For every pair three answers are written to standard
// output, each as float64 value and least nanoseconds over the rounds: plain
// Dijkstra, Dijkstra from both ends, least cost within the limit.
#include <algorithm>
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <vector>

static const double inf = std::numeric_limits<double>::infinity();

// A queue entry packs the upper 36 bits of a non-negative double above a 28-bit id.
static const uint64_t id_mask = (1u << 28) - 1;

static inline uint64_t pack(double key, uint32_t id) {
  uint64_t bits;
  memcpy(&bits, &key, 8);
  return (bits & ~id_mask) | id;
}
static inline double key_of(uint64_t e) {
  e &= ~id_mask;
  double key;
  memcpy(&key, &e, 8);
  return key;
}
static inline uint32_t id_of(uint64_t e) { return uint32_t(e & id_mask); }

// 4-ary lazy heap.
struct Queue {
  std::vector<uint64_t> h;
  bool empty() const { return h.empty(); }
  void clear() { h.clear(); }
  double floor() const { return h.empty() ? inf : key_of(h[0]); }
  void push(uint64_t e) {
    h.push_back(e);
    size_t i = h.size() - 1;
    while (i > 0) {
      size_t up = (i - 1) >> 2;
      if (h[up] <= e) break;
      h[i] = h[up];
      i = up;
    }
    h[i] = e;
  }
  uint64_t pop() {
    uint64_t least = h[0], e = h.back();
    h.pop_back();
    size_t n = h.size(), i = 0;
    if (n == 0) return least;
    uint64_t *p = h.data();
    size_t c = 1;
    for (; c + 3 < n; c = 4 * i + 1) {
      uint64_t b = std::min(std::min(p[c], p[c + 1]), std::min(p[c + 2], p[c + 3]));
      size_t k = c;
      k = p[c + 1] == b ? c + 1 : k;
      k = p[c + 2] == b ? c + 2 : k;
      k = p[c + 3] == b ? c + 3 : k;
      if (e <= b) {
        p[i] = e;
        return least;
      }
      p[i] = b;
      i = k;
    }
    if (c < n) {
      size_t k = c;
      for (size_t j = c + 1; j < n; j++)
        if (p[j] < p[k]) k = j;
      if (p[k] < e) {
        p[i] = p[k];
        i = k;
      }
    }
    p[i] = e;
    return least;
  }
};

struct Arc {
  int32_t head;
  float cost;      // along
  float cost_back; // of the twin
  float time;
  float time_back;
  int32_t twin;
};

struct Node {
  double dist_f, dist_b;
  int32_t arc_f, arc_b;
  uint32_t stamp;
  int32_t local;
};

struct Graph {
  int32_t n = 0, m = 0;
  std::vector<int32_t> first;
  std::vector<Arc> arcs;
};

struct Place {
  double time_left, cost_left, tail_time, least_time, at_cost;
  int32_t first, vertex;
};
struct Link {
  int32_t other, arc;
  float time, cost;
};
struct Label {
  double time, cost;
  int32_t at, parent, arc;
};

struct Search {
  const Graph &g;
  std::vector<Node> nodes;
  uint32_t stamp = 0;
  int32_t via = -1; // where the two searches of both met
  Queue qf, qb;
  std::vector<int32_t> order, back_first;
  std::vector<Place> places;
  std::vector<Link> links, back;
  std::vector<Label> labels;

  explicit Search(const Graph &g) : g(g), nodes(size_t(g.n), Node{inf, inf, -1, -1, 0, -1}) {}

  void begin() {
    stamp++;
    qf.clear();
    qb.clear();
    order.clear();
  }
  Node &at(int32_t v) {
    Node &n = nodes[v];
    if (n.stamp != stamp) n = Node{inf, inf, -1, -1, stamp, -1};
    return n;
  }

  // plain is Dijkstra's algorithm from the start until the goal is settled.
  double plain(int32_t from, int32_t to) {
    begin();
    at(from).dist_f = 0;
    at(to);
    qf.push(pack(0, from));
    while (qf.floor() < nodes[to].dist_f) {
      uint64_t e = qf.pop();
      int32_t v = id_of(e);
      double d = nodes[v].dist_f;
      if (pack(d, v) != e) continue;
      for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
        const Arc &arc = g.arcs[a];
        double next = d + arc.cost;
        Node &w = at(arc.head);
        if (next < w.dist_f) {
          w.dist_f = next;
          w.arc_f = a;
          qf.push(pack(next, arc.head));
        }
      }
    }
    return nodes[to].dist_f;
  }

  // both is Dijkstra's algorithm from both ends.
  double both(int32_t from, int32_t to) {
    if (from == to) return 0;
    begin();
    at(from).dist_f = 0;
    at(to).dist_b = 0;
    qf.push(pack(0, from));
    qb.push(pack(0, to));
    double best = inf;
    for (;;) {
      double f = qf.floor(), b = qb.floor();
      if (!(f + b < best)) return best;
      if (f <= b) {
        uint64_t e = qf.pop();
        int32_t v = id_of(e);
        double d = nodes[v].dist_f, limit = best - b;
        if (pack(d, v) != e) continue;
        for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
          const Arc &arc = g.arcs[a];
          double next = d + arc.cost;
          if (next >= limit) continue;
          Node &w = at(arc.head);
          if (next >= w.dist_f) continue;
          w.dist_f = next;
          w.arc_f = a;
          qf.push(pack(next, arc.head));
          if (next + w.dist_b < best) {
            best = next + w.dist_b;
            via = arc.head;
          }
        }
      } else {
        uint64_t e = qb.pop();
        int32_t v = id_of(e);
        double d = nodes[v].dist_b, limit = best - f;
        if (pack(d, v) != e) continue;
        for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
          const Arc &arc = g.arcs[a];
          double next = d + arc.cost_back;
          if (next >= limit) continue;
          Node &w = at(arc.head);
          if (next >= w.dist_b) continue;
          w.dist_b = next;
          w.arc_b = arc.twin;
          qb.push(pack(next, arc.head));
          if (next + w.dist_f < best) {
            best = next + w.dist_f;
            via = arc.head;
          }
        }
      }
    }
  }

  // met_time is the time of the path that both has just found.
  double met_time() const {
    double time = 0;
    for (int32_t a = nodes[via].arc_f; a >= 0;) {
      time += g.arcs[a].time;
      a = nodes[g.arcs[g.arcs[a].twin].head].arc_f;
    }
    for (int32_t a = nodes[via].arc_b; a >= 0;) {
      time += g.arcs[a].time;
      a = nodes[g.arcs[a].head].arc_b;
    }
    return time;
  }

  void grow_f(uint64_t e, double half, double limit, bool narrow) {
    int32_t v = id_of(e);
    Node &node = nodes[v];
    double d = node.dist_f;
    if (pack(d, v) != e) return;
    if (narrow && d > half && !(node.dist_b <= half && d + node.dist_b <= limit)) return;
    if (node.local == -1) {
      node.local = -2;
      order.push_back(v);
    }
    for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
      const Arc &arc = g.arcs[a];
      double next = d + arc.time;
      if (next > limit) continue;
      Node &w = at(arc.head);
      if (next >= w.dist_f || (narrow && next + w.dist_b > limit)) continue;
      w.dist_f = next;
      qf.push(pack(next, arc.head));
    }
  }
  void grow_b(uint64_t e, double half, double limit, bool narrow) {
    int32_t v = id_of(e);
    Node &node = nodes[v];
    double d = node.dist_b;
    if (pack(d, v) != e) return;
    if (narrow && d > half && !(node.dist_f <= half && d + node.dist_f <= limit)) return;
    for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
      const Arc &arc = g.arcs[a];
      double next = d + arc.time_back;
      if (next > limit) continue;
      Node &w = at(arc.head);
      if (next >= w.dist_b || (narrow && next + w.dist_f > limit)) continue;
      w.dist_b = next;
      qb.push(pack(next, arc.head));
    }
  }

  // corridor finds what a path within the limit can touch and the bounds there.
  void corridor(int32_t from, int32_t to, double limit) {
    begin();
    double half = limit / 2;
    at(from).dist_f = 0;
    at(to).dist_b = 0;
    qf.push(pack(0, from));
    qb.push(pack(0, to));
    while (qf.floor() <= half) grow_f(qf.pop(), half, limit, false);
    while (qb.floor() <= half) grow_b(qb.pop(), half, limit, false);
    while (qf.floor() <= limit) grow_f(qf.pop(), half, limit, true);
    while (qb.floor() <= limit) grow_b(qb.pop(), half, limit, true);
    places.clear();
    links.clear();
    for (int32_t v : order) {
      Node &n = nodes[v];
      if (n.dist_f + n.dist_b > limit) continue;
      n.local = int32_t(places.size());
      places.push_back(Place{n.dist_b, inf, inf, inf, inf, 0, v});
    }
    int32_t count = int32_t(places.size());
    places.push_back(Place{});
    back_first.assign(size_t(count) + 1, 0);
    for (int32_t i = 0; i < count; i++) {
      places[i].first = int32_t(links.size());
      int32_t v = places[i].vertex;
      double d = nodes[v].dist_f;
      for (int32_t a = g.first[v]; a < g.first[v + 1]; a++) {
        const Arc &arc = g.arcs[a];
        const Node &w = nodes[arc.head];
        if (w.stamp != stamp || w.local < 0 || d + arc.time + w.dist_b > limit) continue;
        links.push_back(Link{w.local, a, arc.time, arc.cost});
        back_first[w.local + 1]++;
      }
    }
    places[count].first = int32_t(links.size());
    for (int32_t i = 0; i < count; i++) back_first[i + 1] += back_first[i];
    back.resize(links.size());
    for (int32_t v = count - 1; v >= 0; v--)
      for (int32_t a = places[v].first; a < places[v + 1].first; a++)
        back[--back_first[links[a].other + 1]] = Link{v, a, links[a].time, links[a].cost};
    for (int32_t i = 0; i < count; i++) back_first[i] = back_first[i + 1];
    back_first[count] = int32_t(links.size());

    int32_t goal = nodes[to].local;
    qb.clear();
    places[goal].cost_left = places[goal].tail_time = 0;
    qb.push(pack(0, goal));
    while (!qb.empty()) {
      uint64_t e = qb.pop();
      int32_t v = id_of(e);
      double cost = places[v].cost_left, time = places[v].tail_time;
      if (pack(cost, v) != e) continue;
      for (int32_t a = back_first[v]; a < back_first[v + 1]; a++) {
        const Link &l = back[a];
        double c = cost + l.cost, t = time + l.time;
        Place &p = places[l.other];
        if (c < p.cost_left || (c == p.cost_left && t < p.tail_time)) {
          p.cost_left = c;
          p.tail_time = t;
          qb.push(pack(c, l.other));
        }
      }
    }
  }

  // within is the least cost within the limit: the cheapest path if it fits, else
  // bi-criteria labels in rising order of cost so far plus least cost left.
  double within(int32_t from, int32_t to, double limit) {
    double cheapest = both(from, to);
    if (met_time() <= limit) return cheapest;
    corridor(from, to, limit * (1 + 1e-13));
    int32_t start = nodes[from].local;
    if (places[start].tail_time <= limit) return places[start].cost_left;
    double ceiling = inf;
    labels.clear();
    qf.clear();
    labels.push_back(Label{0, 0, start, -1, -1});
    qf.push(pack(places[start].cost_left, 0));
    while (!qf.empty() && qf.floor() < ceiling) {
      int32_t i = id_of(qf.pop());
      Label b = labels[i];
      Place &v = places[b.at];
      if (b.time >= v.least_time && b.cost >= v.at_cost) continue;
      v.least_time = b.time;
      v.at_cost = b.cost;
      for (int32_t a = v.first; a < places[b.at + 1].first; a++) {
        const Link &l = links[a];
        const Place &w = places[l.other];
        double time = b.time + l.time, cost = b.cost + l.cost, least = cost + w.cost_left;
        if (time + w.time_left > limit || least >= ceiling || (time >= w.least_time && cost >= w.at_cost)) continue;
        if (time + w.tail_time <= limit) {
          ceiling = least;
          continue;
        }
        qf.push(pack(least, uint32_t(labels.size())));
        labels.push_back(Label{time, cost, l.other, i, a});
      }
    }
    return ceiling;
  }
};

template <class T> static void read_all(FILE *f, T *into, size_t count) {
  if (fread(into, sizeof(T), count, f) != count) {
    fprintf(stderr, "baseline: the file is too short\n");
    exit(1);
  }
}

struct Pair {
  int32_t from, to;
  double limit;
};

static Graph read_graph(FILE *f, std::vector<Pair> &pairs) {
  int32_t head[3];
  read_all(f, head, 3);
  Graph g;
  g.n = head[0];
  g.m = head[1];
  g.first.resize(size_t(g.n) + 1);
  g.arcs.resize(size_t(g.m));
  std::vector<int32_t> heads(g.m), twins(g.m);
  std::vector<float> time(g.m), cost(g.m);
  read_all(f, g.first.data(), g.first.size());
  read_all(f, heads.data(), heads.size());
  read_all(f, twins.data(), twins.size());
  read_all(f, time.data(), time.size());
  read_all(f, cost.data(), cost.size());
  for (int32_t a = 0; a < g.m; a++)
    g.arcs[a] = Arc{heads[a], cost[a], cost[twins[a]], time[a], time[twins[a]], twins[a]};
  pairs.resize(size_t(head[2]));
  for (Pair &p : pairs) {
    read_all(f, &p.from, 1);
    read_all(f, &p.to, 1);
    read_all(f, &p.limit, 1);
  }
  return g;
}

int main(int argc, char **argv) {
  if (argc != 3) {
    fprintf(stderr, "usage: baseline FILE ROUNDS\n");
    return 2;
  }
  FILE *f = fopen(argv[1], "rb");
  if (!f) {
    perror(argv[1]);
    return 1;
  }
  std::vector<Pair> pairs;
  Graph g = read_graph(f, pairs);
  fclose(f);
  Search s(g);
  std::vector<double> out(pairs.size() * 6, inf);
  for (int round = 0; round < atoi(argv[2]); round++)
    for (int kind = 0; kind < 3; kind++)
      for (size_t i = 0; i < pairs.size(); i++) {
        const Pair &p = pairs[i];
        auto start = std::chrono::steady_clock::now();
        double value = kind == 0 ? s.plain(p.from, p.to) : kind == 1 ? s.both(p.from, p.to) : s.within(p.from, p.to, p.limit);
        double ns = std::chrono::duration<double, std::nano>(std::chrono::steady_clock::now() - start).count();
        out[i * 6 + size_t(kind) * 2] = value;
        double &least = out[i * 6 + size_t(kind) * 2 + 1];
        least = std::min(least, ns);
      }
  fwrite(out.data(), sizeof(double), out.size(), stdout);
  return 0;
}
